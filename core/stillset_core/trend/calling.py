"""Calling a decline: when the statistic of the bank crosses its threshold, and which calls still stand.

Letters: ``R`` readings, ``I`` instants at which there are readings.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stillset_core.records import Direction, Side
from stillset_core.series import Reading
from stillset_core.trend.call_thresholds import FALSE_CALLS, SETS_PER_WEEK, THRESHOLDS
from stillset_core.trend.decline_bank import PATTERNS, BankRun
from stillset_core.trend.rows import days_between

__all__ = ["DeclineCall", "Monitoring", "crossings", "monitor", "thresholds_at"]

FIRST_CALL_DAY = 42.0
"""Nothing is called earlier in a series."""
QUIET_DAYS = 28.0
"""After a call nothing new is called for this long, and the call stands at least this long."""
DAYS_PER_WEEK = 7.0


@dataclass(frozen=True, slots=True)
class DeclineCall:
    """A call of a decline.

    Attributes
    ----------
    at : datetime
        Of the reading that raised it.
    direction : Direction
    side : Side or None
        The side that leads the decline; None for both.
    """

    at: datetime
    direction: Direction
    side: Side | None

    def names(self, direction: Direction, side: Side) -> bool:
        """Whether the call is about this side of this direction."""
        return self.direction is direction and self.side in (None, side)


@dataclass(frozen=True, slots=True)
class Monitoring:
    """Every call so far, and those that stand."""

    calls: tuple[DeclineCall, ...]
    standing: tuple[DeclineCall, ...]


def thresholds_at(sets_per_week: NDArray[np.float64], false_calls_per_season: float) -> NDArray[np.float64]:
    """Thresholds of the statistic, interpolated in the table and held constant beyond its ends.

    Parameters
    ----------
    sets_per_week : (I,) array
        Sets with a counting reading, per week.
    false_calls_per_season : float
        Calls to expect from an athlete without a decline in 40 weeks.

    Returns
    -------
    (I,) array
    """
    wanted = math.log(false_calls_per_season)
    columns = [float(np.interp(wanted, np.log(FALSE_CALLS), row)) for row in THRESHOLDS]
    return np.interp(sets_per_week, SETS_PER_WEEK, columns)


def crossings(
    day: NDArray[np.float64], statistic: NDArray[np.float64], threshold: NDArray[np.float64]
) -> tuple[tuple[int, ...], bool]:
    """Find where the statistic rises to its threshold.

    Nothing is found before day 42. After a crossing the statistic must have been below the threshold
    again, and 28 days must have passed, before there is another.

    Parameters
    ----------
    day, statistic, threshold : (I,) array
        One entry for each instant of a series; days since its first reading.

    Returns
    -------
    tuple of (tuple of int, bool)
        Indices of the crossings, and whether the statistic has not been below since the last of them.
    """
    found: list[int] = []
    above = False
    for i in np.flatnonzero(day >= FIRST_CALL_DAY).tolist():
        if statistic[i] < threshold[i]:
            above = False
        elif not above and (not found or day[i] - day[found[-1]] >= QUIET_DAYS):
            above = True
            found.append(i)
    return tuple(found), above


def monitor(readings: Sequence[Reading], bank: BankRun, as_of: datetime, false_calls_per_season: float) -> Monitoring:
    """List the calls of a decline in one series; the statistic counts once all readings of an instant are in.

    Parameters
    ----------
    readings : sequence of R Reading
        In the engine's order.
    bank : BankRun
        Of the same readings.
    as_of : datetime
        Not before the last reading.
    false_calls_per_season : float

    Returns
    -------
    Monitoring
    """
    at = [reading.performed_at for reading in readings]
    instants = np.array([i for i in range(len(at)) if i + 1 == len(at) or at[i + 1] != at[i]])
    day = np.array([days_between(at[0], at[i]) for i in instants])
    sets_per_week = _counting_sets(readings)[instants] * DAYS_PER_WEEK / np.maximum(day, FIRST_CALL_DAY)
    threshold = thresholds_at(sets_per_week, false_calls_per_season)
    found, above = crossings(day, bank.statistic[instants], threshold)
    calls = tuple(_call(at[instants[i]], PATTERNS[bank.leading[instants[i]]]) for i in found)
    standing = tuple(
        call for call in calls if (above and call is calls[-1]) or days_between(call.at, as_of) <= QUIET_DAYS
    )
    return Monitoring(calls, standing)


def _counting_sets(readings: Sequence[Reading]) -> NDArray[np.float64]:
    """Count the sets with a counting reading so far, after each reading: (R,)."""
    sets: set[str] = set()
    so_far = []
    for reading in readings:
        if reading.counts:
            sets.add(reading.client_ref)
        so_far.append(len(sets))
    return np.array(so_far, dtype=np.float64)


def _call(at: datetime, pattern: Sequence[float]) -> DeclineCall:
    """Call of the decline that a pattern describes: the sides with its full weight."""
    full = [level for level, share in enumerate(pattern) if share == 1.0]
    direction = Direction.SPREAD if full[0] >= 2 else Direction.SQUEEZE
    if len(full) == 2:
        return DeclineCall(at, direction, None)
    return DeclineCall(at, direction, Side.RIGHT if full[0] % 2 else Side.LEFT)
