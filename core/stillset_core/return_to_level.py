"""The way back after an injury: each level now as a share of the level that was known when the injury began.

The baseline is frozen: level and interval of the trend as of the last instant before the injury's first day,
which later readings do not move. The share is the ratio of the two levels. Its variance is that of the
difference of their logarithms: variance now, plus variance then, less twice the covariance of the two errors,
which the engine's joint distribution gives exactly. The variance then is the one known then, at the noise
scale found by then; it is never taken below what the joint distribution of today says. The error of the
frozen level is taken for normal, as the engine takes every level.

Beyond the numbers: the engine expects levels to drift and not to break off, so that in the first weeks after a
sudden drop the present level is still too high.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from stillset_core.protocol import Protocol
from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.series import Reading
from stillset_core.trend import Level, SeriesTrend, between, level_of, trend_of
from stillset_core.trend.change import normal_cdf

__all__ = ["FEWEST_READINGS", "MARKS", "SeriesReturn", "SideReturn", "return_of"]

FEWEST_READINGS = 3
"""Counting readings of a side before the injury for a healthy baseline: as many as the engine asks for a change."""
MARKS = (90, 95, 100)
"""Per cent of the baseline that a return is judged by: common practice, no source."""


@dataclass(frozen=True, slots=True)
class SideReturn:
    """One side's way back.

    Attributes
    ----------
    baseline : Level
        As known at the injury, in the unit of the series.
    readings_since : int
        Counting readings of the side since the injury began; without one there is nothing to compare.
    percent : Level or None
        Level now in % of the baseline, with its central 95 % interval.
    reached : tuple of float or None
        Probability that the true level is at or above 90, 95 and 100 % of the true baseline.
    """

    baseline: Level
    readings_since: int
    percent: Level | None
    reached: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class SeriesReturn:
    """The way back of one series: the first day of the injury, and the sides with a healthy baseline."""

    injured_on: date
    sides: dict[tuple[Direction, Side], SideReturn]


def return_of(trend: SeriesTrend, readings: Sequence[Reading], protocol: Protocol, injured_on: date) -> SeriesReturn:
    """Compare the levels of a series with those at an injury.

    Parameters
    ----------
    trend : SeriesTrend
        Of `readings`.
    readings : sequence of Reading
        Of the athlete, of any series; none later than the trend's ``as_of``.
    protocol : Protocol
    injured_on : date
        First day of the injury; it begins at midnight UTC.

    Returns
    -------
    SeriesReturn
        Without any side where the series has no healthy baseline.
    """
    start = datetime.combine(injured_on, time(), UTC)
    of_series = [reading for reading in readings if reading.series == trend.key]
    healthy = [reading for reading in of_series if reading.performed_at < start]
    if not healthy or start > trend.as_of:
        return SeriesReturn(injured_on, {})
    # Only now: the first day of the calendar has no moment before it, and no reading either.
    then = start - timedelta(microseconds=1)
    frozen = trend_of(healthy, protocol, then)
    joint = between(of_series, protocol, trend.noise_scale, then, trend.as_of)
    sides: dict[tuple[Direction, Side], SideReturn] = {}
    for place, (direction, side) in enumerate(STRENGTHS):
        before = frozen.direction(direction).side(side).readings
        if before < FEWEST_READINGS:
            continue
        baseline = level_of(float(frozen.mean[place]), float(frozen.covariance[place, place]))
        since = trend.direction(direction).side(side).readings - before
        known = max(float(frozen.covariance[place, place]), float(joint.variance_then[place]))
        variance = float(trend.covariance[place, place]) + known - 2 * float(joint.covariance[place])
        sides[direction, side] = _side(baseline, since, float(trend.mean[place] - frozen.mean[place]), variance)
    return SeriesReturn(injured_on, sides)


def _side(baseline: Level, since: int, log_share: float, variance: float) -> SideReturn:
    if since < 1:
        return SideReturn(baseline, since, None, None)
    share = level_of(log_share, variance)
    percent = Level(100 * share.level, 100 * share.low, 100 * share.high)
    sd = math.sqrt(max(variance, 1e-18))
    at_90, at_95, at_100 = (normal_cdf(log_share - math.log(mark / 100), sd) for mark in MARKS)
    return SideReturn(baseline, since, percent, (at_90, at_95, at_100))
