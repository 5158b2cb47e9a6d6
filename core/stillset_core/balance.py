"""Balance: squeeze ÷ spread on each side and left against right in each direction, with intervals.

Both come from the joint distribution of the four log levels, so that what the sides and directions
share (a good day, a common drift) is not counted twice. Each is set beside the athlete's own usual
band: the median ± 1.96 × SD (sample SD, divisor n − 1) of the smoothed log ratio over the 26 weeks
that end 14 days before ``as_of``, if at least 8 session ends lie there at which both sides of the
ratio had been measured.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillset_core.protocol import Protocol, SideGapFormula
from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.series import SeriesKey
from stillset_core.side_gap import MAX_LOG_RATIO, gap_percent
from stillset_core.steadiness import Lead, gap_in_words, sessions_led
from stillset_core.trend import SeriesTrend
from stillset_core.trend.level import NORMAL_95

__all__ = ["Balance", "BandState", "Ratio", "SideGap", "Stronger", "balance_of"]

USUAL_SD = 1.96
"""Half width of the usual band in standard deviations."""
USUAL_SPAN = timedelta(weeks=26)
USUAL_GAP = timedelta(days=14)
"""The usual band leaves out the latest days, so that what happens now is no part of what is usual."""
USUAL_READINGS = 8
NEITHER_PERCENT = 0.05
"""A side gap below this reads as 0.0 %: neither side is called stronger."""
SAME = 1e-9
"""Values closer than this are equal: rounding alone never leaves the usual band."""


class BandState(StrEnum):
    """Where a value lies against the athlete's own usual band."""

    TOO_FEW = "too_few"
    WITHIN = "within"
    ABOVE = "above"
    BELOW = "below"


class Stronger(StrEnum):
    """Which side is stronger."""

    LEFT = "left"
    RIGHT = "right"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class Ratio:
    """Squeeze ÷ spread of one side with its 95 % interval and usual band; None where a level is missing.

    ``since`` is the first session end of the present stretch outside the usual band.
    """

    value: float | None = None
    low: float | None = None
    high: float | None = None
    usual_low: float | None = None
    usual_high: float | None = None
    state: BandState = BandState.TOO_FEW
    since: datetime | None = None


@dataclass(frozen=True, slots=True)
class SideGap:
    """Left against right in one direction, in % of the named formula; None where a level is missing.

    ``low`` and ``high`` are the ends of the 95 % interval. ``beyond_noise`` says that the 95 %
    interval of ln(left ÷ right) excludes 0. The usual band is in the same formula; ``since`` is the
    first session end of the present stretch outside it. ``lead`` says in how many of the latest sessions
    the smoothed state had the same side stronger; None where neither is, or the sessions are too few.
    """

    formula: SideGapFormula
    percent: float | None = None
    low: float | None = None
    high: float | None = None
    stronger: Stronger | None = None
    beyond_noise: bool = False
    usual_low: float | None = None
    usual_high: float | None = None
    state: BandState = BandState.TOO_FEW
    since: datetime | None = None
    lead: Lead | None = None
    in_words: str | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """The balance of one series."""

    key: SeriesKey
    ratio_left: Ratio
    ratio_right: Ratio
    gap_squeeze: SideGap
    gap_spread: SideGap

    def ratio(self, side: Side) -> Ratio:
        """Squeeze ÷ spread of one side."""
        return self.ratio_left if side is Side.LEFT else self.ratio_right

    def gap(self, direction: Direction) -> SideGap:
        """Side gap of one direction."""
        return self.gap_squeeze if direction is Direction.SQUEEZE else self.gap_spread


def balance_of(trend: SeriesTrend, protocol: Protocol, dominant_side: Side | None) -> Balance:
    """Balance of one series at the ``as_of`` of its trend.

    Parameters
    ----------
    trend : SeriesTrend
        Joint log levels now, and their smoothed history for the usual band.
    protocol : Protocol
        Names the formula of the side gap.
    dominant_side : Side or None
        The athlete's dominant side, if it is on file.

    Returns
    -------
    Balance
        Ratios are exp(m_squeeze − m_spread); a side gap is the formula at m_left − m_right; their
        intervals are the same functions at the ends of the interval of the difference.
    """

    def percent(log_ratio: float) -> float:
        return gap_percent(protocol.side_gap_formula, log_ratio, dominant_side)

    def ratio(side: Side) -> Ratio:
        contrast = _contrast(trend, (Direction.SQUEEZE, side), (Direction.SPREAD, side))
        return Ratio() if contrast is None else _ratio(contrast)

    def gap(direction: Direction) -> SideGap:
        contrast = _contrast(trend, (direction, Side.LEFT), (direction, Side.RIGHT))
        if contrast is None:
            return SideGap(protocol.side_gap_formula)
        found = _side_gap(contrast, protocol.side_gap_formula, percent)
        return _with_words(found, contrast.smoothed, dominant_side)

    return Balance(
        key=trend.key,
        ratio_left=ratio(Side.LEFT),
        ratio_right=ratio(Side.RIGHT),
        gap_squeeze=gap(Direction.SQUEEZE),
        gap_spread=gap(Direction.SPREAD),
    )


@dataclass(frozen=True, slots=True)
class _Contrast:
    """Difference of two log levels: value, ends of its 95 % interval, usual band if there is one, outside it since.

    ``smoothed`` is its history at the session ends at which both had been measured.
    """

    value: float
    interval: tuple[float, float]
    usual: tuple[float, float] | None
    since: datetime | None
    smoothed: NDArray[np.float64]


def _ratio(contrast: _Contrast) -> Ratio:
    value = _exp(contrast.value)
    low, high = _ends(contrast.interval, _exp)
    if contrast.usual is None:
        return Ratio(value, low, high)
    usual_low, usual_high = _ends(contrast.usual, _exp)
    return Ratio(value, low, high, usual_low, usual_high, _state(value, usual_low, usual_high), contrast.since)


def _side_gap(contrast: _Contrast, formula: SideGapFormula, percent: Callable[[float], float]) -> SideGap:
    value = percent(contrast.value)
    low, high = _ends(contrast.interval, percent)
    usual_low, usual_high, state = None, None, BandState.TOO_FEW
    if contrast.usual is not None:
        usual_low, usual_high = _ends(contrast.usual, percent)
        state = _state(value, usual_low, usual_high)
    return SideGap(
        formula=formula,
        percent=value,
        low=low,
        high=high,
        stronger=_stronger(value, contrast.value),
        beyond_noise=contrast.interval[0] > 0 or contrast.interval[1] < 0,
        usual_low=usual_low,
        usual_high=usual_high,
        state=state,
        since=contrast.since,
    )


def _with_words(gap: SideGap, smoothed: NDArray[np.float64], dominant_side: Side | None) -> SideGap:
    """Add how steadily the stronger side leads, and the gap in words."""
    if gap.percent is None or gap.stronger is None or gap.stronger is Stronger.NEITHER:
        return replace(gap, in_words=None if gap.percent is None else "Neither side is the stronger one.")
    side = Side(gap.stronger.value)
    lead = sessions_led(smoothed, side)
    noise = "beyond noise" if gap.beyond_noise else "within noise"
    size = f"by {abs(gap.percent):.1f} % ({gap.formula.value}), {noise}"
    return replace(gap, lead=lead, in_words=gap_in_words(side, size, lead, dominant_side))


def _exp(log_ratio: float) -> float:
    return math.exp(min(log_ratio, MAX_LOG_RATIO))


def _ends(ends: tuple[float, float], transform: Callable[[float], float]) -> tuple[float, float]:
    """Both ends transformed, the lower one first: one of the formulas falls with the log ratio."""
    first, second = transform(ends[0]), transform(ends[1])
    return min(first, second), max(first, second)


def _state(value: float, usual_low: float, usual_high: float) -> BandState:
    if value < usual_low - SAME:
        return BandState.BELOW
    return BandState.ABOVE if value > usual_high + SAME else BandState.WITHIN


def _stronger(percent: float, log_ratio: float) -> Stronger:
    if abs(percent) < NEITHER_PERCENT:
        return Stronger.NEITHER
    return Stronger.LEFT if log_ratio > 0 else Stronger.RIGHT


def _contrast(trend: SeriesTrend, over: tuple[Direction, Side], under: tuple[Direction, Side]) -> _Contrast | None:
    """ln(over ÷ under) of the joint state, or None where either has no level."""
    i, j = STRENGTHS.index(over), STRENGTHS.index(under)
    both = trend.history.seen[:, i] & trend.history.seen[:, j]
    if not both.any():
        return None
    value = float(trend.mean[i] - trend.mean[j])
    variance = float(trend.covariance[i, i] + trend.covariance[j, j] - 2 * trend.covariance[i, j])
    half = NORMAL_95 * math.sqrt(max(variance, 0.0))
    smoothed: NDArray[np.float64] = trend.history.mean[:, i] - trend.history.mean[:, j]
    end = trend.as_of - USUAL_GAP
    rows = [row for row, at in enumerate(trend.history.at) if both[row] and end - USUAL_SPAN <= at <= end]
    usual = _usual(smoothed[rows])
    since = None if usual is None else _outside_since(trend.history.at, smoothed, usual)
    return _Contrast(value, (value - half, value + half), usual, since, smoothed[both])


def _usual(smoothed: NDArray[np.float64]) -> tuple[float, float] | None:
    """Usual band of (T,) smoothed log ratios, or None if they are too few."""
    if len(smoothed) < USUAL_READINGS:
        return None
    middle, half = float(np.median(smoothed)), USUAL_SD * float(np.std(smoothed, ddof=1))
    return middle - half, middle + half


def _outside_since(
    at: Sequence[datetime], smoothed: NDArray[np.float64], usual: tuple[float, float]
) -> datetime | None:
    """First of the last session ends that all lie beyond the same end of the usual band; None if the last is within."""
    states = [_state(float(value), *usual) for value in smoothed]
    if states[-1] is BandState.WITHIN:
        return None
    run = next((back for back, state in enumerate(reversed(states)) if state is not states[-1]), len(states))
    return at[-run]
