"""What the trend of one series is: levels, changes and states of four sides, and their histories.

Letters: ``R`` readings, ``T`` session ends, ``4`` squeeze left, squeeze right, spread left, spread right.
"""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stillset_core.records import Direction, Side
from stillset_core.series import SeriesKey
from stillset_core.trend.calling import DeclineCall
from stillset_core.trend.change import State

__all__ = ["DirectionTrend", "FilteredHistory", "SeriesTrend", "SideTrend", "SmoothedHistory"]


@dataclass(frozen=True, slots=True)
class SideTrend:
    """One side in one direction; None where there is nothing to say.

    Attributes
    ----------
    level, low, high : float or None
        Level now with its central 95 % interval, in the unit of the series.
    weekly_percent : float or None
        Trend over the last four weeks, in per cent per week.
    change_percent, change_low, change_high : float or None
        Change since the baseline with its central 95 % interval.
    probability_below, probability_above : float or None
        Of a true fall, or rise, by more than the smallest change.
    state : State
    at_least : float or None
        Highest lower bound of the last 28 days, in the unit of the series.
    readings : int
        Counting readings of this side.
    baseline : float or None
        Level at the end of the baseline as known today, in the unit of the series.
    """

    level: float | None
    low: float | None
    high: float | None
    weekly_percent: float | None
    change_percent: float | None
    change_low: float | None
    change_high: float | None
    probability_below: float | None
    probability_above: float | None
    state: State
    at_least: float | None
    readings: int
    baseline: float | None


@dataclass(frozen=True, slots=True)
class DirectionTrend:
    """Both sides of one direction."""

    left: SideTrend
    right: SideTrend

    def side(self, side: Side) -> SideTrend:
        """Trend of the named side."""
        return self.left if side is Side.LEFT else self.right


@dataclass(frozen=True, slots=True)
class SmoothedHistory:
    """Log levels at the ends of the sessions as known today: mean (T, 4), covariance (T, 4, 4).

    ``seen`` (T, 4) says whether a counting reading of the side existed by then.
    """

    at: tuple[datetime, ...]
    mean: NDArray[np.float64]
    covariance: NDArray[np.float64]
    seen: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class FilteredHistory:
    """Log levels as known right after each reading: mean (R, 4).

    ``seen`` (R, 4) says whether a counting reading of the side existed by then.
    """

    at: tuple[datetime, ...]
    mean: NDArray[np.float64]
    seen: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class SeriesTrend:
    """Everything the engine knows about one series at one time.

    Attributes
    ----------
    key : SeriesKey
    as_of : datetime
    readings, at_least : int
        Numbers of counting readings and of lower bounds (one direction of one set).
    last_reading_at : datetime or None
        Of the last counting reading.
    noise_scale : float
        The athlete's noise against the usual.
    log_likelihood : float
        Of all readings at that noise scale.
    squeeze, spread : DirectionTrend
    mean, covariance : (4,) and (4, 4) array
        Log levels at `as_of`.
    history : SmoothedHistory
    filtered : FilteredHistory
    calls, standing_calls : tuple of DeclineCall
        Every call of a decline, and those that stand at `as_of`.
    """

    key: SeriesKey
    as_of: datetime
    readings: int
    at_least: int
    last_reading_at: datetime | None
    noise_scale: float
    log_likelihood: float
    squeeze: DirectionTrend
    spread: DirectionTrend
    mean: NDArray[np.float64]
    covariance: NDArray[np.float64]
    history: SmoothedHistory
    filtered: FilteredHistory
    calls: tuple[DeclineCall, ...]
    standing_calls: tuple[DeclineCall, ...]

    def direction(self, direction: Direction) -> DirectionTrend:
        """Trend of the named direction."""
        return self.squeeze if direction is Direction.SQUEEZE else self.spread
