"""The protocol of a club: versions, previews, and judging all history."""

import pytest


def test_a_club_begins_with_the_defaults_and_keeps_every_version(club) -> None:
    first = club.get("/v1/protocol")
    assert set(first) == {"version", "saved_at", "settings"}
    assert (first["version"], first["settings"]["min_hold_s"], first["settings"]["baseline"]) == (1, 3, {"readings": 6})
    second = club.put("/v1/protocol", {"min_hold_s": 4, "max_hold_s": 8})
    assert (second["version"], second["settings"]["min_hold_s"]) == (2, 4)
    third = club.put("/v1/protocol", {"max_hold_s": 9})
    assert (third["settings"]["min_hold_s"], third["settings"]["max_hold_s"]) == (3, 9)
    assert club.get("/v1/protocol") == third
    assert club.items("/v1/protocol/versions") == [first, second, third]


def test_more_than_nine_versions_stay_in_order(club) -> None:
    for seconds in range(4, 14):
        club.put("/v1/protocol", {"min_hold_s": seconds, "max_hold_s": 20})
    assert [row["version"] for row in club.items("/v1/protocol/versions")] == list(range(1, 12))


def test_the_protocol_in_force_judges_all_history(club, make_set, make_rep) -> None:
    club.athlete()
    made = club.post_set(make_set(reps=[make_rep(hold_s=4)]))
    club.put("/v1/protocol", {"min_hold_s": 5})
    assert club.get(f"/v1/sets/{made['id']}")["standings"][0]["standing"] == "set_aside"
    assert club.items("/v1/athletes/MB-07/readings") == []
    club.put("/v1/protocol", {})
    assert len(club.items("/v1/athletes/MB-07/readings")) == 1


def test_a_preview_counts_what_would_change_and_changes_nothing(club, make_set, make_rep) -> None:
    for ref in ("A", "B", "C"):
        club.athlete(ref)
    both = [make_rep(hold_s=4), make_rep("spread", hold_s=6)]
    for _ in range(2):
        club.post_set(make_set("A", reps=both))
    club.post_set(make_set("B", reps=[make_rep(hold_s=4)], intended_percent=92))
    club.post_set(make_set("C"))
    before = club.get("/v1/protocol")
    preview = club.put("/v1/protocol?preview=true", {"min_hold_s": 5, "min_intended_percent": 90})
    assert preview == {
        "changes": [
            {"from": "counts", "to": "set_aside", "count": 2},
            {"from": "at_least", "to": "set_aside", "count": 1},
        ],
        "athletes": [
            {"athlete": "A", "changes": [{"from": "counts", "to": "set_aside", "count": 2}]},
            {"athlete": "B", "changes": [{"from": "at_least", "to": "set_aside", "count": 1}]},
        ],
    }
    assert club.get("/v1/protocol") == before
    assert club.put("/v1/protocol?preview=true", {}) == {"changes": [], "athletes": []}


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ({"min_hold_s": "5"}, ["/min_hold_s"]),
        ({"min_hold_s": True}, ["/min_hold_s"]),
        ({"what": 1, "trend": {"noise_sd": -1}}, ["/trend/noise_sd", "/what"]),
        ({"value": "median"}, ["/value"]),
        ({"reps_standard": 0}, ["/reps_standard"]),
        ({"reps_standard": 2.5}, ["/reps_standard"]),
        ({"baseline": {"readings": 0}}, ["/baseline/readings"]),
        ({"baseline": {"weeks": 0}}, ["/baseline/weeks"]),
        ({"baseline": {"from": "2026-02-01", "to": "2026-01-01"}}, ["/baseline/to"]),
        ({"baseline": {"from": "2026-02-01"}}, ["/baseline/to"]),
        ({"baseline": {"from": 0, "to": "2026-01-01"}}, ["/baseline/from"]),
        ({"baseline": 6}, ["/baseline"]),
        ({"baseline": {"days": 6}}, ["/baseline"]),
        ({"min_hold_s": 20}, ["/max_hold_s"]),
    ],
)
@pytest.mark.parametrize("query", ["", "?preview=true"])
def test_what_is_wrong_about_settings_is_named(club, pointers, settings, expected, query) -> None:
    assert sorted(pointers(club.put(f"/v1/protocol{query}", settings, 422))) == expected
    assert club.get("/v1/protocol")["version"] == 1


@pytest.mark.parametrize("baseline", [{"readings": 4}, {"weeks": 3}, {"from": "2026-01-01", "to": "2026-02-01"}])
def test_each_kind_of_baseline_reads_back(club, baseline) -> None:
    assert club.put("/v1/protocol", {"baseline": baseline})["settings"]["baseline"] == baseline
    assert club.get("/v1/protocol")["settings"]["baseline"] == baseline


@pytest.mark.parametrize("query", ["preview=maybe", "preview=true&preview=true", "previw=true"])
def test_an_unclear_preview_saves_nothing(club, pointers, query) -> None:
    problem = club.put(f"/v1/protocol?{query}", {"min_hold_s": 4}, 422)
    assert pointers(problem)[0] == f"?{query.partition('=')[0]}"
    assert club.get("/v1/protocol")["version"] == 1
