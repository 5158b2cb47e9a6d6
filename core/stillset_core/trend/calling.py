"""Calling a decline: when the statistic of the bank crosses its threshold, and which calls still stand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from stillset_core.records import Direction, Side
from stillset_core.series import Reading
from stillset_core.trend.call_thresholds import FALSE_CALLS, SETS_PER_WEEK, THRESHOLDS
from stillset_core.trend.decline_bank import PATTERNS, BankRun

__all__ = ["DeclineCall", "Monitoring", "monitor", "threshold_at"]

FIRST_CALL = timedelta(days=42)
"""Nothing is called earlier in a series."""
QUIET = timedelta(days=28)
"""After a call nothing new is called for this long, and the call stands at least this long."""
WEEK = timedelta(weeks=1)


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


def threshold_at(sets_per_week: float, false_calls_per_season: float) -> float:
    """Threshold of the statistic, interpolated in the table and held constant beyond its ends.

    Parameters
    ----------
    sets_per_week : float
        Sets with a counting reading, per week.
    false_calls_per_season : float
        Calls to expect from an athlete without a decline in 40 weeks.

    Returns
    -------
    float
    """
    wanted = math.log(false_calls_per_season)
    columns = [float(np.interp(wanted, np.log(FALSE_CALLS), row)) for row in THRESHOLDS]
    return float(np.interp(sets_per_week, SETS_PER_WEEK, columns))


def monitor(readings: Sequence[Reading], bank: BankRun, as_of: datetime, false_calls_per_season: float) -> Monitoring:
    """List the calls of a decline in one series.

    The statistic is looked at once for each instant, after all its readings. A call is made when it
    has risen to the threshold, from day 42 of the series; for another one it must have been below it
    again, and 28 days must have passed.

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
    calls: list[DeclineCall] = []
    held: list[DeclineCall] = []  # calls since which the statistic has not fallen below the threshold
    sets: set[str] = set()
    start = readings[0].performed_at
    for i, reading in enumerate(readings):
        now = reading.performed_at
        if reading.counts:
            sets.add(reading.client_ref)
        if (i + 1 < len(readings) and readings[i + 1].performed_at == now) or now - start < FIRST_CALL:
            continue
        if bank.statistic[i] < threshold_at(len(sets) / ((now - start) / WEEK), false_calls_per_season):
            held = []
        elif not held and (not calls or now - calls[-1].at >= QUIET):
            held = [_call(now, PATTERNS[bank.leading[i]])]
            calls += held
    standing = tuple(call for call in calls if call in held or as_of - call.at <= QUIET)
    return Monitoring(tuple(calls), standing)


def _call(at: datetime, pattern: Sequence[float]) -> DeclineCall:
    """Call of the decline that a pattern describes: the sides with its full weight."""
    full = [level for level, share in enumerate(pattern) if share == 1.0]
    direction = Direction.SPREAD if full[0] >= 2 else Direction.SQUEEZE
    if len(full) == 2:
        return DeclineCall(at, direction, None)
    return DeclineCall(at, direction, Side.RIGHT if full[0] % 2 else Side.LEFT)
