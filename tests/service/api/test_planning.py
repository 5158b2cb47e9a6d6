"""What-if answers of ``POST /v1/plan`` and what coverage says of the present logging."""

from datetime import UTC, datetime, timedelta

import pytest

from stillset_core.planning import Habit, Question, outlook_of
from stillset_core.protocol import Protocol

PLAN = "/v1/plan"
OUTLOOK = ("detectable_percent", "interval_half_width_percent")


def outlook(sets_per_week, noise_scale=1.0):
    found = outlook_of(Habit(sets_per_week, noise_scale=noise_scale), Question(), Protocol())
    return dict(zip(OUTLOOK, (found.detectable_percent, found.interval_half_width_percent), strict=True))


def test_a_plan_says_what_it_would_show_and_what_one_more_set_would_buy(club) -> None:
    answer = club.post(PLAN, {"sets_per_week": 2}, 200)
    assert {name: answer[name] for name in OUTLOOK} == outlook(2)
    assert answer["one_more_set"] == outlook(3)
    assert (answer["weeks"], answer["power"], answer["noise_scale"], answer["false_calls_per_season"]) == (3, 0.8, 1, 1)
    assert answer["detection_probability"] is None


def test_the_probability_of_a_decline_at_the_detectable_per_cent_is_the_power(club) -> None:
    asked = {"sets_per_week": 6, "maximal_share": 0.5, "noise_scale": 1.3, "weeks": 4, "power": 0.7}
    detectable = club.post(PLAN, asked, 200)["detectable_percent"]
    answer = club.post(PLAN, asked | {"decline_percent": detectable}, 200)
    assert answer["counting_sets_per_week"] == 3
    assert answer["detection_probability"] == pytest.approx(0.7, abs=1e-9)


def test_a_plan_follows_the_protocol_of_the_club(club) -> None:
    before = club.post(PLAN, {"sets_per_week": 3}, 200)
    club.put("/v1/protocol", {"false_calls_per_season": 0.25})
    after = club.post(PLAN, {"sets_per_week": 3}, 200)
    assert after["false_calls_per_season"] == 0.25
    assert after["detectable_percent"] > before["detectable_percent"]


def test_a_plan_takes_the_noise_of_an_athlete(club, make_set, make_rep) -> None:
    club.athlete()
    assert club.post(PLAN, {"sets_per_week": 3, "athlete": "MB-07"}, 200)["noise_scale"] == 1
    first = datetime(2026, 3, 2, 17, tzinfo=UTC)
    for number in range(12):
        peak = 300 * (1.2 if number % 2 else 1)
        at = (first + timedelta(days=2 * number)).isoformat()
        club.post_set(make_set(performed_at=at, reps=[make_rep(left=peak, right=peak)]))
    answer = club.post(PLAN, {"sets_per_week": 3, "athlete": "MB-07"}, 200)
    assert answer["noise_scale"] > 1.1
    assert {name: answer[name] for name in OUTLOOK} == outlook(3, answer["noise_scale"])


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/sets_per_week"),
        ({"sets_per_week": 0}, "/sets_per_week"),
        ({"sets_per_week": "2"}, "/sets_per_week"),
        ({"sets_per_week": True}, "/sets_per_week"),
        ({"sets_per_week": 2, "maximal_share": 1.1}, "/maximal_share"),
        ({"sets_per_week": 2, "power": 0.95}, "/power"),
        ({"sets_per_week": 2, "weeks": 9}, "/weeks"),
        ({"sets_per_week": 2, "decline_percent": 0}, "/decline_percent"),
        ({"sets_per_week": 2, "set_per_week": 2}, "/set_per_week"),
        ({"sets_per_week": 2, "noise_scale": 1, "athlete": "MB-07"}, "/athlete"),
        ({"sets_per_week": 2, "athlete": "nobody"}, "/athlete"),
    ],
)
def test_an_unsound_plan_is_refused_at_its_member(club, pointers, body, pointer) -> None:
    assert pointers(club.post(PLAN, body, 422)) == [pointer]


def test_an_unknown_athlete_of_a_plan_is_told_by_its_code(club) -> None:
    assert club.post(PLAN, {"sets_per_week": 2, "athlete": "nobody"}, 422)["code"] == "unknown-athlete"


def test_a_plan_needs_the_scope_manage(club) -> None:
    reader = club.with_scopes("read")
    assert reader.send("POST", PLAN, json={"sets_per_week": 2}).status_code == 403


def test_coverage_says_what_the_present_logging_would_show(club, make_set, make_rep) -> None:
    club.post("/v1/squads", {"ref": "first"}, 201)
    club.athlete("MB-07", squad="first")
    club.athlete("MB-08", squad="first")
    reps = [make_rep("squeeze"), make_rep("spread")]
    for day in range(3, 29, 3):
        club.post_set(make_set(performed_at=f"2026-06-{day:02d}T17:00:00Z", reps=reps))
    covered, empty = club.items("/v1/squads/first/coverage?as_of=2026-06-29T00:00:00Z")
    assert covered["counting_sets_per_week"] == 9 / 4
    assert covered["one_more_set"]["detectable_percent"] < covered["detectable_percent"] < 20
    assert covered["one_more_set"]["interval_half_width_percent"] < covered["interval_half_width_percent"]
    assert (empty["counting_sets_per_week"], empty["detectable_percent"]) == (0, None)
    assert empty["one_more_set"] == dict.fromkeys(OUTLOOK)
