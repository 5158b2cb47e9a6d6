import math
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity, Side
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import DirectionTrend, SeriesTrend, SideTrend, State, trend_of

NUMBERS = ("level", "low", "high", "at_least", "baseline")
RELATIVE = ("weekly_percent", "change_percent", "change_low", "change_high", "probability_below", "probability_above")


def sides_of(trend: SeriesTrend) -> list[SideTrend]:
    return [trend.squeeze.left, trend.squeeze.right, trend.spread.left, trend.spread.right]


def test_counts_dates_and_sides_of_a_short_log(log) -> None:
    log.counts(0).at_least(1, 250.0, None).counts(2, 310.0, None).counts(2, direction=Direction.SPREAD)
    trend = log.trend(4)
    assert (trend.readings, trend.at_least) == (3, 1)
    assert trend.last_reading_at == log.at(2)
    assert [side.readings for side in sides_of(trend)] == [2, 1, 1, 1]
    assert trend.squeeze.left.at_least == 250.0
    assert trend.squeeze.right.at_least is None
    assert len(trend.history.at) == 3
    assert len(trend.filtered.at) == 4
    assert trend.filtered.seen.tolist()[1] == [True, True, False, False]


def test_a_direction_with_two_readings_has_a_level_but_neither_change_nor_state(log) -> None:
    side = log.counts(0).counts(20).trend().squeeze.left
    assert side.level is not None
    assert [getattr(side, name) for name in RELATIVE] == [None] * 6
    assert side.state is State.TOO_FEW


def test_a_direction_with_bounds_alone_shows_only_the_highest_of_them(log) -> None:
    side = log.at_least(0, 400.0).at_least(10, 210.0).at_least(20, 190.0).trend(38).squeeze.left
    assert [getattr(side, name) for name in (*NUMBERS, *RELATIVE)] == [None, None, None, 210.0, None] + [None] * 6
    assert (side.state, side.readings) == (State.TOO_FEW, 0)


def test_the_interval_widens_while_nothing_is_read(log) -> None:
    log.counts(0).counts(3).counts(6)
    soon, late = log.trend(6).squeeze.left, log.trend(60).squeeze.left
    assert soon.level == pytest.approx(late.level)
    assert late.high / late.low > soon.high / soon.low


def test_weekly_percent_needs_14_days_and_looks_back_28(log) -> None:
    log.counts(0, 300.0).counts(5, 306.0).counts(13.9, 312.0)
    assert log.trend().squeeze.left.weekly_percent is None
    log.counts(20, 320.0)
    trend = log.trend()
    then, now = trend.history.mean[0, 0], trend.mean[0]
    assert trend.squeeze.left.weekly_percent == pytest.approx(100 * math.expm1((now - then) * 7 / 20))
    assert log.trend(48).squeeze.left.weekly_percent == pytest.approx(0.0, abs=1e-12)


def test_a_session_effect_ends_with_the_session(log) -> None:
    apart = log.counts(0, 300.0).counts(0.01, 360.0, session=9).trend()
    log.readings[1] = replace(log.readings[1], session=0)
    together = log.trend()
    assert apart.covariance[0, 0] < together.covariance[0, 0]


def test_the_athletes_noise_is_learnt(log) -> None:
    steady, noisy = type(log)(), type(log)()
    for k in range(40):
        steady.counts(3 * k, 300 * (1.005 if k % 2 else 1), 290 * (1.005 if k % 3 else 1))
        noisy.counts(3 * k, 300 * (1.2 if k % 2 else 1), 290 * (1.2 if k % 3 else 1))
    assert steady.trend().noise_scale < 0.7
    assert noisy.trend().noise_scale > 1.3
    assert noisy.settings({"noise_scale_prior_sd": 0.0}).trend().noise_scale == 1.0


def test_one_outlier_hardly_moves_a_level(log) -> None:
    for k in range(10):
        log.counts(3 * k)
    before = log.trend(31).squeeze.left.level
    after = log.counts(30, 150.0, 150.0).trend(31).squeeze.left.level
    assert before * 0.97 < after < before


@pytest.mark.parametrize("fault", ["none", "two series", "later"])
def test_what_is_no_series_is_refused(log, fault: str) -> None:
    log.counts(0).counts(1)
    readings = {
        "none": [],
        "two series": [log.readings[0], replace(log.readings[1], series=replace(log.readings[1].series, position="x"))],
        "later": log.readings,
    }[fault]
    with pytest.raises(ValueError, match=r"at least one|one series|lies after"):
        trend_of(readings, Protocol(), log.at(0.5))


KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
FORCES = st.floats(1e-3, 1e5) | st.floats(200, 400)
SIDES = st.tuples(FORCES | st.none(), FORCES | st.none()).filter(lambda pair: pair != (None, None))


@st.composite
def series(draw: st.DrawFn) -> list[Reading]:
    """Readings with any forces on any days, several at one instant among them."""
    day, session, made = 0.0, 0, []
    for i in range(draw(st.integers(1, 25))):
        step = draw(st.sampled_from([0.0, 0.01, 1.0, 3.5, 7.0, 400.0]))
        day += step
        session += step > 0.5
        left, right = draw(SIDES)
        reps = draw(st.integers(1, 12))
        value = Bound(left, right) if draw(st.booleans()) else Counted(left, right, left, right, reps, reps, reps)
        at = datetime(2030, 1, 7, tzinfo=UTC) + timedelta(days=day)
        made.append(Reading(f"set-{i:02d}", at, session, draw(st.sampled_from(Direction)), value, KEY))
    return made


def end_of(readings: list[Reading]) -> datetime:
    return max(reading.performed_at for reading in readings) + timedelta(days=2)


@settings(max_examples=60, deadline=None)
@given(series(), st.randoms())
def test_the_order_of_arrival_changes_no_digit(readings: list[Reading], shuffler: random.Random) -> None:
    shuffled = list(readings)
    shuffler.shuffle(shuffled)
    one, other = (trend_of(each, Protocol(), end_of(readings)) for each in (readings, shuffled))
    assert sides_of(one) == sides_of(other)
    assert one.log_likelihood == other.log_likelihood
    assert (one.covariance == other.covariance).all()
    assert (one.history.mean == other.history.mean).all()
    assert one.calls == other.calls


@settings(max_examples=60, deadline=None)
@given(series())
def test_no_number_is_ever_undefined(readings: list[Reading]) -> None:
    trend = trend_of(readings, Protocol(), end_of(readings))
    assert math.isfinite(trend.log_likelihood)
    assert math.isfinite(trend.noise_scale)
    for array in (trend.mean, trend.covariance, trend.history.mean, trend.history.covariance, trend.filtered.mean):
        assert np.isfinite(array).all()
    assert (np.diag(trend.covariance) > 0).all()
    assert (np.diagonal(trend.history.covariance, axis1=1, axis2=2) > 0).all()
    for side in sides_of(trend):
        assert all(math.isfinite(getattr(side, name)) for name in NUMBERS + RELATIVE if getattr(side, name) is not None)


@settings(max_examples=60, deadline=None)
@given(series())
def test_the_last_smoothed_levels_are_the_last_filtered_ones(readings: list[Reading]) -> None:
    trend = trend_of(readings, Protocol(), end_of(readings))
    assert (trend.history.mean[-1] == trend.filtered.mean[-1]).all()


def scaled(readings: list[Reading], factor: float) -> list[Reading]:
    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    made = []
    for reading in readings:
        value = reading.value
        if isinstance(value, Counted):
            left, right = times(value.left), times(value.right)
            made.append(
                replace(reading, value=replace(value, left=left, right=right, adjusted_left=left, adjusted_right=right))
            )
        else:
            made.append(replace(reading, value=Bound(times(value.left), times(value.right))))
    return made


@settings(max_examples=40, deadline=None)
@given(series(), st.floats(0.01, 100))
def test_another_unit_moves_levels_and_nothing_else(readings: list[Reading], factor: float) -> None:
    prior = math.log(300.0)
    protocols = [Protocol(trend=EngineOverrides(prior_mean_log=mean)) for mean in (prior, prior + math.log(factor))]
    one = trend_of(readings, protocols[0], end_of(readings))
    other = trend_of(scaled(readings, factor), protocols[1], end_of(readings))
    for before, after in zip(sides_of(one), sides_of(other), strict=True):
        for name in NUMBERS:
            was = getattr(before, name)
            assert getattr(after, name) == (None if was is None else pytest.approx(was * factor, rel=1e-6))
        for name in RELATIVE:
            was = getattr(before, name)
            assert getattr(after, name) == (None if was is None else pytest.approx(was, rel=1e-5, abs=1e-5))


def test_directions_and_sides_are_found_by_name(log) -> None:
    trend = log.counts(0).trend()
    assert trend.direction(Direction.SPREAD) is trend.spread
    assert isinstance(trend.squeeze, DirectionTrend)
    assert trend.squeeze.side(Side.RIGHT) is trend.squeeze.right
