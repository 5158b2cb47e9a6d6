"""What the reading views of a squad say."""

from datetime import UTC, datetime

import pytest

SQUAD = "/v1/squads/first-team"


@pytest.fixture
def squad(api, set_of):
    api.make_athlete("MB-02", role="wing", dominant_side="left")
    api.make_athlete("MB-09", archived=True)
    api.post(*(set_of(number, pain={"score": 7}) for number in range(8)))
    return api


def test_the_board_has_a_row_for_everybody_who_is_not_archived(squad) -> None:
    rows = squad.items(f"{SQUAD}/board")
    assert [row["athlete"] for row in rows] == ["MB-02", "MB-07"]
    assert (rows[0]["role"], rows[0]["dominant_side"], rows[0]["name"]) == ("wing", "left", "Odd MB-02")


def test_a_row_without_sets_says_nothing_about_strength(squad) -> None:
    row = squad.items(f"{SQUAD}/board")[0]
    assert row["last_reading_at"] is None
    assert row["states"]["squeeze"] == {"left": "too_few", "right": "too_few"}
    assert {row[name] for name in ("squeeze", "spread", "ratio", "side_gap", "pain", "last_reading_age_days")} == {None}
    assert row["load"]["reps"] == 0


def test_a_row_says_the_same_as_the_views_of_the_athlete(squad) -> None:
    as_of = "as_of=2026-03-18T12:00:00Z"
    row = squad.items(f"{SQUAD}/board?{as_of}")[1]
    trend = squad.get(f"/v1/athletes/MB-07/trend?{as_of}").json()["series"][0]
    balance = squad.get(f"/v1/athletes/MB-07/balance?{as_of}").json()["series"][0]
    assert {name: row[name] for name in trend if name != "return"} | {"return": None} == trend
    assert (row["ratio"], row["side_gap"]) == (balance["ratio"], balance["side_gap"])
    stated = squad.items(f"/v1/athletes/MB-07/pain?{as_of}")[-1]  # with the time as it was sent
    assert datetime.fromisoformat(row["pain"]["performed_at"]) == datetime.fromisoformat(stated["performed_at"])
    assert row["pain"] | {"performed_at": None} == stated | {"performed_at": None}
    assert row["load"].items() <= squad.items(f"/v1/athletes/MB-07/load?{as_of}")[-1].items()
    assert row["last_reading_age_days"] == 1
    assert row["attention"] == squad.items(f"/v1/athletes/MB-07/attention?{as_of}")
    assert row["attention"]


def test_the_week_of_the_board_is_that_of_the_moment(squad) -> None:
    row = squad.items(f"{SQUAD}/board?as_of=2026-04-30")[1]
    assert row["load"] == {"week": "2026-W18", "reps": 0, "hold_s": 0, "impulse_n_s": None, "hard_s": None}


def test_attention_names_rule_athlete_and_evidence(squad) -> None:
    items = squad.items(f"{SQUAD}/attention?as_of=2026-03-18")
    assert set(items[0]) == {"rule", "athlete", "direction", "side", "text", "evidence", "since", "clears", "answer"}
    assert "MB-07" in {item["athlete"] for item in items}


def test_coverage_has_a_row_for_each_series_and_for_everybody_without_one(squad) -> None:
    rows = squad.items(f"{SQUAD}/coverage?as_of=2026-03-18T12:00:00Z")
    assert [(row["athlete"], row["overdue"], row["days_since"]) for row in rows] == [
        ("MB-02", True, None),
        ("MB-07", False, 1),
    ]


def test_a_change_of_facts_changes_the_tag_of_the_board(squad) -> None:
    tag = squad.get(f"{SQUAD}/board").headers["ETag"]
    assert squad.send("PATCH", "/v1/athletes/MB-02", json={"role": "pivot"}).status_code == 200
    assert squad.get(f"{SQUAD}/board", if_none_match=tag).status_code == 200


def test_norms_count_who_is_in_them_and_give_no_band_of_a_few(squad, set_of) -> None:
    as_of = "as_of=2026-03-18"
    few = squad.items(f"{SQUAD}/norms?{as_of}")
    assert {row["athletes"] for row in few} == {1}
    assert {row["median"] for row in few} == {None}
    for number in range(4):
        squad.make_athlete(f"N-{number}", role="back")
        squad.post(set_of(600 + number, athlete=f"N-{number}", at=datetime(2026, 3, 10, tzinfo=UTC)))
    (row,) = [
        row
        for row in squad.items(f"{SQUAD}/norms?{as_of}")
        if (row["measure"], row["direction"], row["side"], row["role"]) == ("level", "squeeze", "left", None)
    ]
    levels = sorted(row["squeeze"]["left"]["level"] for row in squad.items(f"{SQUAD}/board?{as_of}") if row["squeeze"])
    assert row["athletes"] == len(levels) == 5
    assert row["median"] == pytest.approx(levels[2], rel=1e-12)
    assert row["unit"] == "N"


def test_norms_hold_every_athlete_against_the_others_and_say_their_units(squad, set_of) -> None:
    for number in range(6):
        squad.make_athlete(f"N-{number}")
        at = datetime(2026, 3, 10, tzinfo=UTC)
        squad.post(set_of(700 + 3 * number, athlete=f"N-{number}", at=at, body_mass_kg=70 + number))
    rows = {
        (row["measure"], row["direction"], row["side"]): row
        for row in squad.items(f"{SQUAD}/norms?as_of=2026-03-18")
        if row["role"] is None
    }
    units = {row["measure"]: row["measure_unit"] for row in rows.values()}
    assert units == {"level": "N", "level-per-body-mass": "N/kg", "ratio": "1", "side-gap": "%"}
    level, per_mass = (rows[measure, "squeeze", "left"] for measure in ("level", "level-per-body-mass"))
    assert (level["athletes"], per_mass["athletes"]) == (7, 6)  # MB-07 never stated a body mass
    assert [one["athlete"] for one in level["each"]] == ["MB-07", *(f"N-{number}" for number in range(6))]
    first = level["each"][0]
    others = sorted(one["value"] for one in level["each"][1:])
    assert (first["others"], first["others_median"]) == (6, pytest.approx((others[2] + others[3]) / 2, rel=1e-12))
    assert level["median_low"] == min(others[0], first["value"])  # of seven, the median lies between the extremes
    assert (level["p10_low"], level["p90_high"]) == (None, None)
    assert per_mass["each"][0]["value"] == pytest.approx(level["each"][1]["value"] / 70, rel=1e-12)


def test_outside_references_stand_beside_their_kind_of_instrument_only(squad, set_of) -> None:
    squad.make_athlete("H-1")
    position = {"position": {"name": "supine-bent-knee", "knee_angle_deg": 60}, "instrument_kind": "hand-held"}
    answer = squad.send("PUT", "/v1/athletes/H-1/standard-position", json=position | {"valid_from": "2026-01-01"})
    assert answer.status_code == 200
    squad.post(set_of(800, athlete="H-1", at=datetime(2026, 3, 10, tzinfo=UTC), instrument={"kind": "hand-held"}))
    beside = {
        (row["instrument_kind"], row["measure"]): [one["value"] for one in row["outside_references"]]
        for row in squad.items(f"{SQUAD}/norms?as_of=2026-03-18")
        if row["direction"] in {"squeeze", None}
    }
    assert beside["hand-held", "ratio"] == [0.95, 0.78]
    assert beside["fixed-frame", "ratio"] == beside["fixed-frame", "level"] == []
    assert len(beside["hand-held", "level"]) == 3
