"""Targets of a set from today's level."""

from datetime import UTC, datetime, timedelta

import pytest

from stillset_core.judging.outcome import Counted
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity, Side
from stillset_core.series import Reading, SeriesKey
from stillset_core.set_targets import targets_of
from stillset_core.trend import trend_of

START = datetime(2030, 1, 7, 16, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)


def a_trend(left, right, as_of_day=20):
    readings = [
        Reading(
            f"set-{day}",
            START + timedelta(days=day),
            day,
            Direction.SQUEEZE,
            Counted(left, right, left, right, 3, 3 if left else 0, 3 if right else 0),
            KEY,
        )
        for day in range(8)
    ]
    return trend_of(readings, Protocol(), START + timedelta(days=as_of_day))


def test_each_side_has_four_targets_of_its_own_level_lightest_first():
    trend = a_trend(300.0, 240.0)
    targets = targets_of(trend)
    assert [(one.direction, one.side, one.percent) for one in targets] == [
        (Direction.SQUEEZE, side, percent) for side in Side for percent in (50, 75, 85, 95)
    ]
    assert targets[0].force == pytest.approx(0.5 * trend.squeeze.left.level)
    assert targets[-1].force == pytest.approx(0.95 * trend.squeeze.right.level)
    assert targets[-1].force < targets[3].force


def test_the_interval_is_that_share_of_the_levels_and_widens_with_time():
    trend = a_trend(300.0, 240.0)
    half = targets_of(trend)[0]
    assert (half.low, half.high) == pytest.approx((0.5 * trend.squeeze.left.low, 0.5 * trend.squeeze.left.high))
    assert half.low < half.force < half.high
    later = targets_of(a_trend(300.0, 240.0, as_of_day=60))[0]
    assert later.high - later.low > half.high - half.low


def test_a_side_without_a_level_has_no_target():
    assert {one.side for one in targets_of(a_trend(300.0, None))} == {Side.LEFT}
    assert {one.direction for one in targets_of(a_trend(300.0, 240.0))} == {Direction.SQUEEZE}
