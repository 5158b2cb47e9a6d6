"""What the reading views of one athlete say."""

import math
from datetime import UTC, datetime, timedelta

import pytest

ATHLETE = "/v1/athletes/MB-07"
SIDES = [(direction, side) for direction in ("squeeze", "spread") for side in ("left", "right")]
CHANGE = ("weekly_percent", "change_percent", "change_low", "change_high", "probability_below", "probability_above")


def test_sets_are_given_newest_first_with_every_member_as_it_was_sent(api, set_of) -> None:
    odd = set_of(3, unit="lbf", note="after ball", pain={"present": False}, performed_at="2026-03-08T18:00:00.50+01:00")
    api.post(set_of(1), odd, set_of(2))
    rows = api.items(f"{ATHLETE}/sets")
    assert [row["client_ref"] for row in rows] == ["set-003", "set-002", "set-001"]
    first = rows[0]
    assert {name: first[name] for name in odd} == odd
    assert first["status"] == "active"
    assert first["load"] == {
        "reps": 2,
        "hold_s": 10,
        "impulse_n_s": pytest.approx(4.4482216152605 * 5 * (303 + 293 + 273 + 283)),
    }
    assert [one["standing"] for one in first["standings"]] == ["counts", "counts"]
    assert datetime.fromisoformat(first["received_at"]) <= datetime.now(UTC)


def test_a_withdrawn_set_stays_in_sets_and_is_nowhere_else(api, set_of) -> None:
    api.post(*(set_of(number, pain={"score": 2}) for number in range(3)))
    set_id = api.items(f"{ATHLETE}/sets")[0]["id"]
    assert api.send("POST", f"/v1/sets/{set_id}/withdraw", json={"reason": "wrong athlete"}).status_code == 200
    assert [row["status"] for row in api.items(f"{ATHLETE}/sets")] == ["withdrawn", "active", "active"]
    assert set_id not in {row["set_id"] for row in api.items(f"{ATHLETE}/readings")}
    assert set_id not in {row["set_id"] for row in api.items(f"{ATHLETE}/pain")}
    assert sum(row["reps"] for row in api.items(f"{ATHLETE}/load")) == 4
    assert api.get(f"{ATHLETE}/trend").json()["series"][0]["readings"] == 4


def test_sets_and_readings_can_be_narrowed_to_a_standing(api, set_of) -> None:
    api.post(set_of(1), set_of(2, intended_percent=70), set_of(3, purpose="warm-up"))
    for standing, expected in (("counts", "set-001"), ("at_least", "set-002"), ("set_aside", "set-003")):
        assert [row["client_ref"] for row in api.items(f"{ATHLETE}/sets?standing={standing}")] == [expected]
    assert {row["client_ref"] for row in api.items(f"{ATHLETE}/readings?standing=at_least")} == {"set-002"}
    assert api.items(f"{ATHLETE}/readings?standing=set_aside") == []
    assert api.get(f"{ATHLETE}/readings?standing=counted").status_code == 422


def test_readings_are_given_oldest_first_in_the_order_of_the_engine(api, set_of) -> None:
    at = datetime(2026, 3, 2, 17, tzinfo=UTC)
    api.post(set_of(1, at=at), set_of(0, at=at, intended_percent=70), set_of(2, at=at - timedelta(days=3)))
    rows = [(row["client_ref"], row["direction"], row["standing"]) for row in api.items(f"{ATHLETE}/readings")]
    assert rows == [
        ("set-002", "squeeze", "counts"),
        ("set-002", "spread", "counts"),
        ("set-001", "squeeze", "counts"),
        ("set-001", "spread", "counts"),
        ("set-000", "squeeze", "at_least"),
        ("set-000", "spread", "at_least"),
    ]


def test_a_bound_has_no_adjusted_value(api, set_of) -> None:
    api.post(set_of(1, intended_percent=70))
    row = api.items(f"{ATHLETE}/readings")[0]
    assert (row["left"], row["adjusted_left"], row["maximal_reps"]) == (301, None, None)


def test_without_any_level_every_number_of_it_is_null(api, set_of) -> None:
    api.post(set_of(1, intended_percent=70))
    series = api.get(f"{ATHLETE}/trend?as_of=2026-03-05").json()["series"][0]
    assert (series["readings"], series["at_least"], series["last_reading_at"]) == (0, 2, None)
    level = series["squeeze"]["left"]
    assert {level[name] for name in ("level", "low", "high", *CHANGE)} == {None}
    assert (level["state"], level["at_least"]) == ("too_few", 301)
    balance = api.get(f"{ATHLETE}/balance?as_of=2026-03-05").json()["series"][0]
    assert balance["ratio"]["left"]["value"] is None
    assert balance["side_gap"]["spread"]["percent"] is None


def test_the_trend_has_a_level_within_its_interval_for_every_side(api, set_of) -> None:
    api.post(*(set_of(number) for number in range(10)))
    trend = api.get(f"{ATHLETE}/trend?as_of=2026-03-22").json()
    assert trend["as_of"] == "2026-03-22T00:00:00Z"
    series = trend["series"][0]
    assert series["position"] == {"name": "supine-bent-knee", "knee_angle_deg": 60}
    assert (series["instrument_kind"], series["unit"], series["readings"]) == ("fixed-frame", "N", 20)
    for direction, side in SIDES:
        level = series[direction][side]
        assert level["low"] < level["level"] < level["high"]
        assert all(isinstance(level[name], float) for name in CHANGE)
        assert "history" not in level


def test_levels_that_leave_double_precision_are_given_with_finite_ends(api, set_of) -> None:
    overrides = {"drift_per_sqrt_day": 10, "prior_sd": 10, "outlier_share": 0, "bound_margin": 0}
    api.send("PUT", "/v1/protocol", json={"trend": overrides}).raise_for_status()
    stands = {"position": set_of(0)["position"], "instrument_kind": "fixed-frame", "valid_from": "2010-01-01"}
    api.send("PUT", f"{ATHLETE}/standard-position", json=stands).raise_for_status()
    light = {"intended_percent": 80}
    later = (set_of(90 + year, at=datetime(2016 + year, 1, 1, tzinfo=UTC), **light) for year in range(10))
    api.post(set_of(1, at=datetime(2015, 1, 1, tzinfo=UTC)), *later)
    answer = api.get(f"{ATHLETE}/trend?history=true&as_of=2026-01-01")
    assert answer.status_code == 200
    level = answer.json()["series"][0]["squeeze"]["left"]
    assert all(0 < point["high"] < 1e305 for point in [level, *level["history"]])


def test_the_history_holds_the_sessions_of_the_window_and_ends_at_the_level(api, set_of) -> None:
    api.post(*(set_of(number) for number in range(10)))
    at_last = api.get(f"{ATHLETE}/trend?history=true&as_of=2026-03-20T17:00:00Z").json()["series"][0]
    history = at_last["squeeze"]["left"]["history"]
    assert len(history) == 10
    assert history[-1]["level"] == pytest.approx(at_last["squeeze"]["left"]["level"], rel=1e-9)
    assert history[-1]["low"] == pytest.approx(at_last["squeeze"]["left"]["low"], rel=1e-9)
    window = api.get(f"{ATHLETE}/trend?history=true&as_of=2026-03-20T17:00:00Z&from=2026-03-06&to=2026-03-10").json()
    assert window["series"][0]["squeeze"]["left"]["history"] == history[2:4]
    assert window["series"][0]["squeeze"]["left"]["level"] == at_last["squeeze"]["left"]["level"]


def test_ratio_and_side_gap_are_those_of_the_levels(api, set_of) -> None:
    api.post(*(set_of(number) for number in range(10)))
    levels = api.get(f"{ATHLETE}/trend").json()["series"][0]
    balance = api.get(f"{ATHLETE}/balance").json()["series"][0]
    for side in ("left", "right"):
        ratio = levels["squeeze"][side]["level"] / levels["spread"][side]["level"]
        assert balance["ratio"][side]["value"] == pytest.approx(ratio, rel=1e-9)
    left, right = (levels["squeeze"][side]["level"] for side in ("left", "right"))
    gap = balance["side_gap"]["squeeze"]
    assert gap["percent"] == pytest.approx(100 * (left - right) / max(left, right), rel=1e-9)
    assert (gap["formula"], gap["stronger"]) == ("of-stronger", "left")
    assert (gap["consistent_percent"], gap["consistent_sessions"]) == (100, 10)
    assert gap["in_words"].startswith(f"Left is the stronger one by {gap['percent']:.1f} % (of-stronger), ")
    assert gap["in_words"].endswith("It was in 10 of the last 10 sessions.")


def test_load_is_by_iso_week_of_the_local_date_and_of_the_sets_in_the_window(api, set_of) -> None:
    api.post(set_of(1, performed_at="2026-03-02T00:30:00+02:00"), set_of(2, performed_at="2026-03-02T23:30:00-02:00"))
    weeks = api.items(f"{ATHLETE}/load")
    assert [(week["week"], week["reps"], week["hold_s"]) for week in weeks] == [("2026-W10", 4, 20)]
    assert [week["reps"] for week in api.items(f"{ATHLETE}/load?from=2026-03-02")] == [2]


def test_pain_has_one_row_for_each_set_that_states_it_with_the_time_as_sent(api, set_of) -> None:
    api.post(
        set_of(1), set_of(2, pain={"score": 3, "site": "groin", "when": "after"}, performed_at="2026-03-06T17:00:00.0Z")
    )
    (row,) = api.items(f"{ATHLETE}/pain")
    assert row["set_id"] == api.items(f"{ATHLETE}/sets")[0]["id"]
    del row["set_id"]
    assert row == {
        "performed_at": "2026-03-06T17:00:00.0Z",
        "score": 3,
        "present": None,
        "site": "groin",
        "when": "after",
    }


def test_a_week_of_load_is_held_against_the_four_before_it_once_it_is_over(api, set_of) -> None:
    api.post(
        *(set_of(number, at=datetime(2026, 3, 2, 12, tzinfo=UTC) + timedelta(weeks=number)) for number in range(5))
    )
    api.post(set_of(50, at=datetime(2026, 3, 31, 12, tzinfo=UTC)))
    weeks = api.items(f"{ATHLETE}/load?as_of=2026-04-06")
    assert [week["previous_four_weeks_hold_s"] for week in weeks] == [None, None, None, None, 10]
    assert [week["change_percent"] for week in weeks] == [None, None, None, None, 100]
    # Two days of 10 s and five of rest: mean 20 ÷ 7, SD 4.880 with divisor n - 1.
    assert weeks[-1]["monotony"] == pytest.approx(0.585540, abs=1e-6)
    assert weeks[-1]["strain"] == pytest.approx(20 * 0.585540, abs=1e-4)
    open_week = api.items(f"{ATHLETE}/load?as_of=2026-04-03")[-1]
    assert (open_week["previous_four_weeks_hold_s"], open_week["change_percent"], open_week["monotony"]) == (
        10,
        None,
        None,
    )


def test_a_week_that_the_window_cuts_is_not_held_against_others(api, set_of) -> None:
    api.post(
        *(set_of(number, at=datetime(2026, 3, 2, 12, tzinfo=UTC) + timedelta(weeks=number)) for number in range(5))
    )
    api.post(set_of(50, at=datetime(2026, 3, 31, 12, tzinfo=UTC)))
    whole = api.items(f"{ATHLETE}/load?from=2026-03-30")
    assert whole == api.items(f"{ATHLETE}/load")[-1:]
    (cut,) = api.items(f"{ATHLETE}/load?from=2026-03-31")
    assert cut["reps"] == 2
    assert {cut[name] for name in ("previous_four_weeks_hold_s", "change_percent", "monotony", "strain")} == {None}


@pytest.mark.parametrize("view", ["sets", "readings", "trend?history=true", "balance", "load", "pain", "attention"])
def test_as_of_gives_what_only_the_sets_up_to_then_give(make_api, set_of, view) -> None:
    whole, early = make_api(), make_api()
    documents = [set_of(number, pain={"score": number % 4}) for number in range(16)]
    as_of = datetime.fromisoformat(documents[8]["performed_at"])
    for club, taken in ((whole, documents), (early, documents[:9])):
        club.make_athlete()
        club.post(*taken)
    path = f"{ATHLETE}/{view}{'&' if '?' in view else '?'}as_of={as_of.isoformat().replace('+', '%2B')}"
    assert without_ids(whole.get(path).json()) == without_ids(early.get(path).json())


def without_ids(value):
    """Leave out what the service makes up: ids and the time of arrival."""
    if isinstance(value, dict):
        left_out = {"id", "set_id", "received_at"}
        return {name: without_ids(member) for name, member in value.items() if name not in left_out}
    return [without_ids(member) for member in value] if isinstance(value, list) else value


def test_every_view_shows_a_set_as_soon_as_it_is_acknowledged(api, set_of) -> None:
    for number in range(3):
        api.post(set_of(number, pain={"score": 1}))
        assert len(api.items(f"{ATHLETE}/sets")) == number + 1
        assert api.get(f"{ATHLETE}/trend").json()["series"][0]["readings"] == 2 * (number + 1)
        assert len(api.items(f"{ATHLETE}/pain")) == number + 1


def test_a_set_ahead_of_the_day_is_in_every_view(api, set_of) -> None:
    ahead = datetime.now(UTC) + timedelta(hours=23)
    api.post(set_of(1, at=ahead, pain={"score": 1}))
    assert len(api.items(f"{ATHLETE}/readings")) == 2
    assert len(api.items(f"{ATHLETE}/pain")) == 1


def test_numbers_are_not_rounded(api, set_of) -> None:
    third = 100 * math.pi
    api.post(set_of(1, reps=[{"direction": "squeeze", "hold_s": 5, "left": {"peak": third}}]))
    assert api.items(f"{ATHLETE}/readings")[0]["left"] == third
