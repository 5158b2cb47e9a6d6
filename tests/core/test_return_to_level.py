"""The way back after an injury."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stillset_core.judging.outcome import Counted
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity, Side
from stillset_core.return_to_level import return_of
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import trend_of

START = datetime(2030, 1, 7, 16, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
INJURED_ON = (START + timedelta(days=71)).date()
Q, S, TAU = 0.006, 0.052, 0.02
LEFT = (Direction.SQUEEZE, Side.LEFT)
GAUSSIAN = Protocol(trend=EngineOverrides(outlier_share=0.0, noise_scale_prior_sd=0.0, prior_sd=0.3))


def a_reading(day, left=300.0, right=300.0):
    value = Counted(left, right, left, right, 3, 3 if left else 0, 3 if right else 0)
    return Reading(f"s-{day:03d}", START + timedelta(days=day), day, Direction.SQUEEZE, value, KEY)


def season(after, protocol=GAUSSIAN):
    """Twenty weeks, every third day; 300 N before day 70, then what ``after`` says of the day."""
    readings = [a_reading(day, 300.0 if day < 70 else after(day)) for day in range(0, 140, 3)]
    as_of = START + timedelta(days=140)
    return trend_of(readings, protocol, as_of), readings


def test_the_baseline_is_the_trend_as_of_the_injury_and_the_share_compares_the_two_levels():
    trend, readings = season(lambda day: 240.0 if day < 100 else 290.0)
    found = return_of(trend, readings, GAUSSIAN, INJURED_ON)
    then = datetime(2030, 3, 19, tzinfo=UTC) - timedelta(microseconds=1)
    before = trend_of([one for one in readings if one.performed_at <= then], GAUSSIAN, then).squeeze.left
    back = found.sides[LEFT]
    assert found.injured_on == INJURED_ON == datetime(2030, 3, 19, tzinfo=UTC).date()
    assert (back.baseline.level, back.baseline.low, back.baseline.high) == (before.level, before.low, before.high)
    assert back.percent.level == pytest.approx(100 * trend.squeeze.left.level / before.level, rel=1e-12)
    assert back.percent.low < back.percent.level < back.percent.high
    assert 1 > back.reached[0] > back.reached[1] > back.reached[2] > 0
    assert back.readings_since == trend.squeeze.left.readings - before.readings


def test_the_interval_equals_dense_gaussian_conditioning():
    # One side alone, no outliers: the errors of the level as known then and as known now, from the whole covariance
    # of levels and readings written down entry by entry, without a recursion.
    days = [float(day) for day in range(0, 140, 3)]
    readings = [a_reading(int(day), 300.0 + 10 * math.sin(day), None) for day in days]
    as_of = START + timedelta(days=140)
    back = return_of(trend_of(readings, GAUSSIAN, as_of), readings, GAUSSIAN, INJURED_ON).sides[LEFT]
    then = (datetime.combine(INJURED_ON, datetime.min.time(), UTC) - START) / timedelta(days=1)

    def prior(one, other):
        return 0.3**2 + Q**2 * min(one, other)

    def weights(at, known):
        among = np.array([[prior(a, b) + (S**2 + TAU**2) * (a == b) for b in known] for a in known])
        return np.linalg.solve(among, [prior(at, b) for b in known])

    known_then = [day for day in days if day <= then]
    noise = np.zeros(len(days))
    noise += weights(140.0, days)
    noise[: len(known_then)] -= weights(then, known_then)
    # Error of the difference: sum of noise × reading − (level now − level then).
    points, signs = [*days, 140.0, then], np.array([*noise, -1.0, 1.0])
    levels = np.array([[prior(a, b) for b in points] for a in points])
    variance = signs @ levels @ signs + (S**2 + TAU**2) * noise @ noise
    half = math.log(back.percent.high / back.percent.low) / 2
    assert half == pytest.approx(1.959964 * math.sqrt(variance), rel=1e-6)
    sd = math.sqrt(variance)
    for mark, probability in zip((0.90, 0.95, 1.0), back.reached, strict=True):
        distance = (math.log(back.percent.level / 100) - math.log(mark)) / sd
        assert probability == pytest.approx(0.5 * math.erfc(-distance / math.sqrt(2)), rel=1e-6)


def test_without_a_reading_since_the_injury_there_is_a_baseline_and_no_share():
    readings = [a_reading(day) for day in range(0, 70, 3)]
    trend = trend_of(readings, Protocol(), START + timedelta(days=80))
    back = return_of(trend, readings, Protocol(), INJURED_ON).sides[LEFT]
    assert back.baseline.level == pytest.approx(300, rel=0.02)
    assert (back.readings_since, back.percent, back.reached) == (0, None, None)


@pytest.mark.parametrize(("before", "sides"), [(2, 0), (3, 2)])
def test_fewer_than_three_readings_are_no_healthy_baseline(before, sides):
    readings = [a_reading(day) for day in (*range(before), *range(80, 100, 3))]
    trend = trend_of(readings, Protocol(), START + timedelta(days=110))
    assert len(return_of(trend, readings, Protocol(), INJURED_ON).sides) == sides


def test_an_injury_before_the_first_reading_or_after_the_moment_has_no_baseline():
    readings = [a_reading(day) for day in range(0, 140, 3)]
    trend = trend_of(readings, GAUSSIAN, START + timedelta(days=140))
    for injured_on in (datetime(2029, 1, 1, tzinfo=UTC).date(), datetime(2031, 1, 1, tzinfo=UTC).date()):
        assert return_of(trend, readings, GAUSSIAN, injured_on).sides == {}


def test_the_interval_holds_the_true_share_about_as_often_as_it_says():
    # Levels and readings drawn from the engine's own model, at its defaults without outliers.
    rng, held, seasons = np.random.default_rng(11), 0, 200
    days = np.arange(0, 140, 3)
    for _ in range(seasons):
        path = math.log(300) + np.cumsum(rng.normal(0, Q, 141))
        seen = path[days] + rng.normal(0, math.hypot(S, TAU), len(days))
        readings = [a_reading(int(day), math.exp(value), None) for day, value in zip(days, seen, strict=True)]
        trend = trend_of(readings, GAUSSIAN, START + timedelta(days=140))
        back = return_of(trend, readings, GAUSSIAN, INJURED_ON).sides[LEFT]
        held += back.percent.low <= 100 * math.exp(path[140] - path[70]) <= back.percent.high
    # Binomial, 200 at 95 %: fewer than 180 or more than 198 would be 3 SD off or certainty.
    assert 180 <= held <= 198
