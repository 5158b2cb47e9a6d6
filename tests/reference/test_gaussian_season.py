"""The filter, the smoother, the clones and the interpolation against dense Gaussian conditioning.

Without outliers and bounds the model is jointly Gaussian. Here the covariance of everything, all levels
at all times and all readings of a season, is written down entry by entry and conditioned on in one go:
slow, obvious, and without a recursion.
"""

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import multivariate_normal

from stillset_core.judging.outcome import Counted
from stillset_core.order_statistics import variance_of_largest
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import trend_of
from stillset_core.trend.level import NORMAL_95

START = datetime(2030, 1, 7, 16, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
Q, C, S, RHO, TAU, R, PRIOR_SD, PRIOR_RHO = 0.006, 0.5, 0.052, 0.5, 0.02, 0.04, 0.3, 0.4
PRIOR_MEAN = math.log(300.0)
PROTOCOL = Protocol(
    trend=EngineOverrides(
        outlier_share=0.0, noise_scale_prior_sd=0.0, prior_sd=PRIOR_SD, prior_side_correlation=PRIOR_RHO
    )
)


@dataclass(frozen=True)
class Seen:
    """One measured side of one reading."""

    set: int
    day: float
    session: int
    level: int
    log_value: float
    reps: int


def invented_season() -> list[Seen]:
    """Fourteen sets on uneven days; some with one direction or one side only, some of the same session."""
    rng = np.random.default_rng(5)
    days = np.cumsum(rng.uniform(0.3, 9.0, size=14)).round(3)
    days -= days[0]
    days[7], days[8] = days[6], days[6]
    sessions = [0, 1, 2, 3, 4, 5, 6, 6, 6, 9, 10, 11, 12, 13]
    seen = []
    for i, (day, session) in enumerate(zip(days, sessions, strict=True)):
        for level in range(4):
            if rng.random() < 0.8 and not (i % 5 == 3 and level > 1):
                value = PRIOR_MEAN + 0.1 * level + rng.normal(0, 0.05)
                seen.append(Seen(i, float(day), session, level, value, int(rng.integers(1, 7))))
    return seen


SEASON = invented_season()


def readings() -> list[Reading]:
    made = []
    for i in sorted({seen.set for seen in SEASON}):
        for direction, first in ((Direction.SQUEEZE, 0), (Direction.SPREAD, 2)):
            sides = [next((s for s in SEASON if s.set == i and s.level == first + k), None) for k in (0, 1)]
            some = sides[0] or sides[1]
            if some is None:
                continue
            left, right = (None if s is None else math.exp(s.log_value) for s in sides)
            reps = [0 if s is None else s.reps for s in sides]
            value = Counted(left, right, left, right, max(reps), reps[0], reps[1])
            at = START + timedelta(days=some.day)
            made.append(Reading(f"set-{i:02d}", at, some.session, direction, value, KEY))
    return sorted(made, key=lambda reading: reading.order)


def level_covariance(level: int, day: float, other: int, other_day: float) -> float:
    """Prior covariance of two levels at two times: start plus the drift they have in common."""
    same = level == other
    start = PRIOR_SD**2 * (1.0 if same else PRIOR_RHO)
    return start + Q**2 * min(day, other_day) * (1.0 if same else C)


def reading_covariance(a: Seen, b: Seen) -> float:
    """Prior covariance of two measured sides."""
    covariance = level_covariance(a.level, a.day, b.level, b.day)
    if a.session == b.session:
        covariance += TAU**2
    if a == b:
        covariance += S**2 + (variance_of_largest(a.reps) - variance_of_largest(3)) * R**2
    elif a.set == b.set and a.level // 2 == b.level // 2:
        covariance += RHO * S**2
    return covariance


def conditioned(asked: list[tuple[int, float]], known: list[Seen]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean and covariance of some levels (index, day) given some readings."""
    prior = np.array([[level_covariance(*a, *b) for b in asked] for a in asked])
    between = np.array([[level_covariance(*a, b.level, b.day) for b in known] for a in asked])
    among = np.array([[reading_covariance(a, b) for b in known] for a in known])
    gain = between @ np.linalg.inv(among)
    values = np.array([a.log_value for a in known])
    return PRIOR_MEAN + gain @ (values - PRIOR_MEAN), prior - gain @ between.T


def four(day: float) -> list[tuple[int, float]]:
    return [(level, day) for level in range(4)]


END = max(seen.day for seen in SEASON) + 3.25
TREND = trend_of(readings(), PROTOCOL, START + timedelta(days=END))


def test_levels_now_equal_dense_conditioning() -> None:
    mean, covariance = conditioned(four(END), SEASON)
    assert TREND.mean == pytest.approx(mean, abs=1e-10)
    assert TREND.covariance == pytest.approx(covariance, abs=1e-10)


def test_levels_after_each_reading_equal_dense_conditioning() -> None:
    known: list[Seen] = []
    for i, reading in enumerate(readings()):
        first = 0 if reading.direction is Direction.SQUEEZE else 2
        known += [s for s in SEASON if f"set-{s.set:02d}" == reading.client_ref and s.level // 2 == first // 2]
        mean, _ = conditioned(four(known[-1].day), known)
        assert TREND.filtered.mean[i] == pytest.approx(mean, abs=1e-10)


def test_log_likelihood_equals_the_density_of_all_readings() -> None:
    among = np.array([[reading_covariance(a, b) for b in SEASON] for a in SEASON])
    values = np.array([seen.log_value for seen in SEASON])
    density = multivariate_normal(np.full(len(SEASON), PRIOR_MEAN), among).logpdf(values)
    assert TREND.log_likelihood == pytest.approx(density, abs=1e-9)


def test_smoothed_levels_equal_dense_conditioning() -> None:
    assert len(TREND.history.at) == len({seen.session for seen in SEASON})
    for i, at in enumerate(TREND.history.at):
        mean, covariance = conditioned(four((at - START) / timedelta(days=1)), SEASON)
        assert TREND.history.mean[i] == pytest.approx(mean, abs=1e-10)
        assert TREND.history.covariance[i] == pytest.approx(covariance, abs=1e-10)


@pytest.mark.parametrize("level", range(4))
def test_change_since_the_sixth_reading_equals_dense_conditioning(level: int) -> None:
    direction = (Direction.SQUEEZE, Direction.SPREAD)[level // 2]
    sixth = [reading for reading in readings() if reading.direction is direction][5]
    baseline_day = (sixth.performed_at - START) / timedelta(days=1)
    mean, covariance = conditioned([(level, END), (level, baseline_day)], SEASON)
    change = mean[0] - mean[1]
    sd = math.sqrt(covariance[0, 0] - 2 * covariance[0, 1] + covariance[1, 1])
    shown = TREND.direction(direction)
    side = (shown.left, shown.right)[level % 2]
    assert side.change_percent == pytest.approx(100 * math.expm1(change), abs=1e-7)
    assert side.change_low == pytest.approx(100 * math.expm1(change - NORMAL_95 * sd), abs=1e-7)
    assert side.baseline == pytest.approx(math.exp(mean[1]), rel=1e-9)


@pytest.mark.parametrize("level", range(4))
def test_weekly_percent_equals_dense_conditioning_28_days_ago(level: int) -> None:
    then, _ = conditioned(four(END - 28), SEASON)
    now, _ = conditioned(four(END), SEASON)
    shown = (TREND.squeeze, TREND.spread)[level // 2]
    side = (shown.left, shown.right)[level % 2]
    assert side.weekly_percent == pytest.approx(100 * math.expm1((now[level] - then[level]) / 4), abs=1e-8)
