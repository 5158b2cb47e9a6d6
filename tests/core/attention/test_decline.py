"""Strength that falls."""

from datetime import date, timedelta

import numpy as np
import pytest

from stillset_core.attention.decline import falling_sides, strength_falling
from stillset_core.records import Direction, Side
from stillset_core.trend import DeclineCall

LEFT_SQUEEZE = (Direction.SQUEEZE, Side.LEFT)
DOWN = {
    "level": 271.0,
    "low": 255.0,
    "high": 288.0,
    "change_percent": -9.6,
    "change_low": -13.9,
    "change_high": -5.1,
    "readings": 34,
}


def test_a_side_that_falls_is_reported_with_change_level_count_and_date(watched, a_trend):
    (item,) = strength_falling(watched(trends=[a_trend({LEFT_SQUEEZE: DOWN})]))
    assert (item.rule, item.athlete, item.direction, item.side) == ("strength-falling", "MB-07", *LEFT_SQUEEZE)
    assert item.text == (
        "Left squeeze is falling: −9.6 % (95 % −13.9 to −5.1 %) against baseline,"
        " now 271 N (95 % 255 to 288 N; 34 readings, last on 2026-09-29)."
    )
    assert item.evidence["change_percent"] == -9.6
    assert item.evidence["unit"] == "N"


def test_each_falling_side_is_an_item_of_its_own(watched, a_trend):
    falling = {(direction, side): DOWN for direction in Direction for side in Side}
    athlete = watched(trends=[a_trend(falling)])
    assert [(item.direction, item.side) for item in strength_falling(athlete)] == list(falling_sides(athlete))
    assert len(falling_sides(athlete)) == 4


def test_a_steady_athlete_and_one_without_readings_draw_no_attention(watched, a_trend):
    assert not list(strength_falling(watched(trends=[a_trend()])))
    assert not list(strength_falling(watched()))


@pytest.mark.parametrize(("days", "reported"), [(56.0, True), (56.1, False)])
def test_a_series_without_a_reading_for_eight_weeks_says_nothing_about_today(watched, a_trend, days, reported):
    athlete = watched(trends=[a_trend({LEFT_SQUEEZE: DOWN}, last_days=days)])
    assert bool(list(strength_falling(athlete))) is reported


def test_only_the_series_used_latest_is_looked_at(watched, a_trend):
    assert not list(strength_falling(watched(trends=[a_trend(), a_trend({LEFT_SQUEEZE: DOWN})])))


def test_a_standing_call_dates_the_decline_and_is_named(watched, a_trend, as_of):
    called_at = as_of - timedelta(days=20)
    for side, whose in ((None, " of both sides together"), (Side.LEFT, "")):
        trend = a_trend({LEFT_SQUEEZE: DOWN}, calls=[DeclineCall(called_at, Direction.SQUEEZE, side)])
        (item,) = strength_falling(watched(trends=[trend]))
        assert item.since == date(2026, 9, 11)
        assert item.text.startswith(f"Left squeeze: a decline{whose} was called on 2026-09-11; now 271 N")
        assert item.text.endswith("−9.6 % (95 % −13.9 to −5.1 %) against baseline.")
    other = a_trend({LEFT_SQUEEZE: DOWN}, calls=[DeclineCall(called_at, Direction.SPREAD, None)])
    (item,) = strength_falling(watched(trends=[other]))
    assert item.evidence["called_on"] is None


def test_a_call_on_a_side_that_is_not_below_its_baseline_says_what_it_compares_with(watched, a_trend, as_of):
    even = DOWN | {"change_percent": 0.4, "change_low": -5.3, "change_high": 0.0}
    call = DeclineCall(as_of - timedelta(days=20), Direction.SQUEEZE, Side.LEFT)
    (item,) = strength_falling(watched(trends=[a_trend({LEFT_SQUEEZE: even}, calls=[call])]))
    assert item.text.endswith(
        "+0.4 % (95 % −5.3 to 0.0 %) against baseline, not clearly below it:"
        " the call compares with the weeks before it, not with baseline."
    )


def test_without_a_call_it_dates_from_the_first_session_below_baseline_by_the_smallest_change(watched, a_trend):
    def levels(days):
        left = np.where(days <= 40, 300 * 0.94, 300 * 0.96)  # 5 % is the smallest change
        left[days == 60] = 200  # an earlier dip that was made good
        return np.column_stack([left, *[np.full_like(days, 300.0)] * 3])

    (item,) = strength_falling(watched(trends=[a_trend({LEFT_SQUEEZE: DOWN}, levels=levels)]))
    assert item.since == date(2026, 8, 22)


def test_a_series_that_was_below_all_along_dates_from_its_first_session(watched, a_trend):
    below = {LEFT_SQUEEZE: DOWN | {"baseline": 400.0}}
    (item,) = strength_falling(watched(trends=[a_trend(below)]))
    assert item.since == date(2026, 6, 23)
    (unknown,) = strength_falling(watched(trends=[a_trend({LEFT_SQUEEZE: DOWN | {"baseline": None}})]))
    assert unknown.since is None


def test_the_larger_fall_weighs_more(watched, a_trend):
    falling = {LEFT_SQUEEZE: DOWN, (Direction.SPREAD, Side.RIGHT): DOWN | {"change_percent": -15.0}}
    smaller, larger = strength_falling(watched(trends=[a_trend(falling)]))
    assert larger.weight > smaller.weight
