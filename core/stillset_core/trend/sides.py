"""One side's part of a series: from the moments of the whole state to the numbers that are shown."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stillset_core.judging.outcome import Bound
from stillset_core.records import Direction, Side
from stillset_core.series import Reading
from stillset_core.trend.calling import DeclineCall
from stillset_core.trend.change import Change, State, change_of, state_of
from stillset_core.trend.filtering import FilterRun
from stillset_core.trend.level import LONGEST_LOOK_BACK, SHORTEST_HISTORY, level_of, weekly_percent
from stillset_core.trend.parameters import Model
from stillset_core.trend.result import DirectionTrend, SideTrend
from stillset_core.trend.rows import first_of
from stillset_core.trend.smoothing import Moments, moments_between
from stillset_core.trend.transition import SIZE

__all__ = ["Findings", "direction_trend"]

FEWEST_READINGS = 3
"""A direction with fewer counting readings is shown without change or state."""
RECENT_BOUNDS = timedelta(days=28)
"""How long a lower bound is shown."""


@dataclass(frozen=True, slots=True)
class Findings:
    """Everything found about a series, before it is told side by side.

    Attributes
    ----------
    readings : sequence of R Reading
        In the engine's order.
    as_of : datetime
    end_day : float
        `as_of` in days since the first reading.
    run : FilterRun
    model : Model
    filtered, smoothed : Moments
        At the session ends.
    seen : (T, 4) bool array
        Whether a counting reading of the side existed by the session's end.
    seen_at_baseline : (2, 4) bool array
        The same at the end of the baseline of squeeze and of spread; all False without a baseline.
    standing : tuple of DeclineCall
        Calls that stand.
    smallest_change_percent : float
    """

    readings: Sequence[Reading]
    as_of: datetime
    end_day: float
    run: FilterRun
    model: Model
    filtered: Moments
    smoothed: Moments
    seen: NDArray[np.bool_]
    seen_at_baseline: NDArray[np.bool_]
    standing: tuple[DeclineCall, ...]
    smallest_change_percent: float


def direction_trend(findings: Findings, direction: Direction) -> DirectionTrend:
    """Trend of both sides in one direction."""
    return DirectionTrend(_side(findings, direction, Side.LEFT), _side(findings, direction, Side.RIGHT))


def _side(findings: Findings, direction: Direction, side: Side) -> SideTrend:
    """Trend of one side."""
    index = first_of(direction) + (side is Side.RIGHT)
    mean, covariance = findings.run.end_mean, findings.run.end_covariance
    known = bool(findings.seen[-1, index])
    enough = sum(_counts_in(reading, direction) for reading in findings.readings) >= FEWEST_READINGS
    level = level_of(mean[index], covariance[index, index]) if known else None
    change = None
    if known and enough and findings.seen_at_baseline[index // 2, index]:
        change = _change(findings, index)
    in_alarm = any(call.names(direction, side) for call in findings.standing)
    return SideTrend(
        level=level.level if level else None,
        low=level.low if level else None,
        high=level.high if level else None,
        weekly_percent=_weekly(findings, index) if known and enough else None,
        change_percent=change.percent if change else None,
        change_low=change.low if change else None,
        change_high=change.high if change else None,
        probability_below=change.probability_below if change else None,
        probability_above=change.probability_above if change else None,
        state=state_of(change, in_alarm=in_alarm) if change else State.TOO_FEW,
        at_least=_highest_bound(findings, direction, side),
        readings=sum(
            _counts_in(reading, direction) and _value(reading, side) is not None for reading in findings.readings
        ),
        baseline=level_of(mean[SIZE + index], 0.0).level if change else None,
    )


def _counts_in(reading: Reading, direction: Direction) -> bool:
    return reading.counts and reading.direction is direction


def _value(reading: Reading, side: Side) -> float | None:
    """Value or bound of a side in SI."""
    return reading.value.left if side is Side.LEFT else reading.value.right


def _change(findings: Findings, index: int) -> Change:
    """Change of a level since its clone, from their joint distribution."""
    mean, covariance, clone = findings.run.end_mean, findings.run.end_covariance, SIZE + index
    variance = covariance[index, index] - 2 * covariance[index, clone] + covariance[clone, clone]
    return change_of(mean[index] - mean[clone], variance, findings.smallest_change_percent)


def _weekly(findings: Findings, index: int) -> float | None:
    """Per cent per week over the last 28 days, or since the session of the side's first reading if that is later."""
    first = int(np.argmax(findings.seen[:, index]))
    days = min(findings.end_day - findings.filtered.day[first], LONGEST_LOOK_BACK)
    if days < SHORTEST_HISTORY:
        return None
    if days < LONGEST_LOOK_BACK:
        then = findings.smoothed.mean[first]
    else:
        then = moments_between(findings.filtered, findings.smoothed, findings.end_day - days, findings.model)
    return weekly_percent(findings.run.end_mean[index], then[index], days)


def _highest_bound(findings: Findings, direction: Direction, side: Side) -> float | None:
    """Highest lower bound of the last 28 days."""
    recent = findings.as_of - RECENT_BOUNDS
    bounds = [
        value
        for reading in findings.readings
        if isinstance(reading.value, Bound)
        and reading.direction is direction
        and reading.performed_at >= recent
        and (value := _value(reading, side)) is not None
    ]
    return max(bounds, default=None)
