import math

import numpy as np
import pytest

from stillset_core.records import Direction, Side
from stillset_core.trend import State
from stillset_core.trend.call_thresholds import FALSE_CALLS, SETS_PER_WEEK, THRESHOLDS
from stillset_core.trend.calling import crossings, monitor, thresholds_at
from stillset_core.trend.decline_bank import BankRun


def crossed(days: list[float], statistic: list[float], threshold: float = 3.0) -> tuple[list[float], bool]:
    day = np.array(days, dtype=float)
    found, above = crossings(day, np.array(statistic), np.full(day.size, threshold))
    return [days[i] for i in found], above


def test_a_rise_to_the_threshold_is_a_crossing() -> None:
    assert crossed([50, 57, 64], [1.0, 3.0, 3.5]) == ([57], True)


def test_nothing_is_found_before_day_42() -> None:
    assert crossed([20, 41.9], [5.0, 5.0]) == ([], False)
    assert crossed([20, 42.0], [5.0, 5.0]) == ([42.0], True)


def test_a_statistic_that_stays_up_crosses_once() -> None:
    assert crossed([50, 90, 130], [4.0, 4.0, 4.0]) == ([50], True)


def test_a_second_crossing_needs_a_fall_and_28_days() -> None:
    assert crossed([50, 57, 77], [4.0, 1.0, 4.0]) == ([50], False)
    assert crossed([50, 57, 78], [4.0, 1.0, 4.0]) == ([50, 78], True)


def test_thresholds_are_interpolated_and_held_beyond_the_table() -> None:
    column = FALSE_CALLS.index(1.0)
    between = thresholds_at(np.array([0.0, 1.0, 1.5, 99.0]), 1.0)
    one, two = THRESHOLDS[1][column], THRESHOLDS[2][column]
    assert between == pytest.approx([THRESHOLDS[0][column], one, (one + two) / 2, THRESHOLDS[-1][column]])
    assert SETS_PER_WEEK[1:3] == (1.0, 2.0)


def test_fewer_false_calls_need_a_higher_threshold() -> None:
    for sets in SETS_PER_WEEK:
        at = [float(thresholds_at(np.array([sets]), calls)[0]) for calls in FALSE_CALLS]
        assert at == sorted(at, reverse=True)
        middle = thresholds_at(np.array([sets]), math.sqrt(FALSE_CALLS[0] * FALSE_CALLS[1]))[0]
        assert middle == pytest.approx((at[0] + at[1]) / 2)


def decline(log, *, left: float, right: float, direction: Direction = Direction.SQUEEZE) -> None:
    """Two sets a week for 20 weeks; from day 70 the named sides lose the given shares over three weeks."""
    rng = np.random.default_rng(8)
    for k in range(40):
        day = 3.5 * k
        ramp = min(max(day - 70, 0) / 21, 1)
        for each in Direction:
            share = ramp if each is direction else 0.0
            noise = np.exp(rng.normal(0, 0.03, size=2))
            log.counts(day, 300 * (1 - left * share) * noise[0], 290 * (1 - right * share) * noise[1], each)


def test_a_decline_of_both_sides_is_called_for_both(log) -> None:
    decline(log, left=0.15, right=0.15)
    trend = log.trend()
    (call,) = trend.calls
    assert (call.direction, call.side) == (Direction.SQUEEZE, None)
    assert 70 < (call.at - log.at(0)).days < 100
    assert trend.squeeze.left.state is trend.squeeze.right.state is State.FALLING
    assert trend.spread.left.state is not State.FALLING


def test_a_decline_of_one_side_is_called_for_that_side(log) -> None:
    decline(log, left=0.0, right=0.15, direction=Direction.SPREAD)
    (call,) = log.trend().calls
    assert (call.direction, call.side) == (Direction.SPREAD, Side.RIGHT)
    assert call.names(Direction.SPREAD, Side.RIGHT)
    assert not call.names(Direction.SPREAD, Side.LEFT)
    assert not call.names(Direction.SQUEEZE, Side.RIGHT)


def flat(log, days: list[float]) -> None:
    for day in days:
        log.counts(day)


@pytest.mark.parametrize(
    ("statistic", "as_of", "stands"),
    [([9.0, 9.0], 150.0, True), ([9.0, -9.0], 150.0, False), ([9.0, -9.0], 78.0, True), ([9.0, -9.0], 78.1, False)],
)
def test_a_call_stands_while_the_statistic_is_up_and_for_28_days(log, statistic, as_of: float, stands: bool) -> None:
    flat(log, [0.0, 50.0, 60.0])
    bank = BankRun(np.array([0.0, *statistic]), np.array([0, 1, 0]))
    watch = monitor(log.readings, bank, log.at(as_of), 1.0)
    assert [call.at for call in watch.calls] == [log.at(50.0)]
    assert watch.calls[0].side is Side.LEFT
    assert bool(watch.standing) is stands


def test_the_statistic_counts_once_all_readings_of_an_instant_are_in(log) -> None:
    log.counts(0.0).counts(50.0).counts(50.0, direction=Direction.SPREAD)
    bank = BankRun(np.array([0.0, 9.0, 0.0]), np.array([0, 0, 0]))
    assert monitor(log.readings, bank, log.at(50.0), 1.0).calls == ()
