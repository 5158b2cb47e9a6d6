"""How a week's work compares with the weeks before, and how alike its days were.

Sums of hold seconds by local date; a day or week without a set is one of rest and counts as 0. A week is
judged when it is over and as a whole. There is no ratio of acute to chronic load: it is coupled by construction.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import numpy as np

from stillset_core.judged import JudgedSet
from stillset_core.load import week_of

__all__ = ["LoadPattern", "load_patterns", "monotony", "strain"]

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
WEEKS_BEFORE = 4
LEAST_MEAN_S = 1.0
"""A per cent of less than a second a week says nothing."""
ALIKE = 1e-9
"""Days this close, as a share, are equal but for rounding."""


@dataclass(frozen=True, slots=True)
class LoadPattern:
    """A week beside others and by its days; None where there is nothing to say.

    Attributes
    ----------
    previous_four_weeks_hold_s : float or None
        Mean weekly hold seconds of the four weeks before; None until the record reaches that far back.
    change_percent : float or None
        Of the week against that mean; None for a mean below a second and for a week that is not over.
    monotony, strain : float or None
        See `monotony` and `strain`; None for a week that is not over.
    """

    previous_four_weeks_hold_s: float | None
    change_percent: float | None
    monotony: float | None
    strain: float | None


def monotony(daily: Sequence[float]) -> float | None:
    """Mean ÷ SD of the daily loads of a week.

    Parameters
    ----------
    daily : sequence of float
        One load for each day, rest days included as 0; at least two.

    Returns
    -------
    float or None
        The SD has the divisor n - 1. None for equal days, for which it would be infinite.

    Notes
    -----
    Made for session ratings of endurance athletes. No mark for it is backed by evidence in strength work.

    References
    ----------
    Foster 1998, Med Sci Sports Exerc 30:1164-1168; the divisor is not stated there (from memory).
    """
    if max(daily) - min(daily) <= ALIKE * max(daily):
        return None
    return math.fsum(daily) / len(daily) / float(np.std(daily, ddof=1))


def strain(daily: Sequence[float]) -> float | None:
    """Sum of the week's loads × `monotony`, in the unit of the loads; None for equal days (Foster 1998)."""
    alike = monotony(daily)
    return None if alike is None else math.fsum(daily) * alike


def load_patterns(judged: Iterable[JudgedSet], as_of: datetime) -> Mapping[str, LoadPattern]:
    """Find the pattern of every week with a set.

    Parameters
    ----------
    judged : iterable of JudgedSet
        All of the athlete's up to ``as_of``, in any order, whatever their standing.
    as_of : datetime
        Aware; a week is over when its Sunday is, in UTC.

    Returns
    -------
    mapping of str to LoadPattern
        By ISO week, ``YYYY-Www``.
    """
    days: defaultdict[date, float] = defaultdict(float)
    for one in judged:
        days[one.record.performed_at.date()] += one.load.hold_s
    weeks: defaultdict[date, float] = defaultdict(float)
    for day, hold_s in days.items():
        weeks[_monday(day)] += hold_s
    first_open = _monday((as_of.astimezone(UTC) + timedelta(microseconds=1)).date())
    begin = min(weeks, default=first_open)
    found: dict[str, LoadPattern] = {}
    for monday, hold_s in weeks.items():
        earlier = [weeks.get(monday - back * WEEK, 0.0) for back in range(1, WEEKS_BEFORE + 1)]
        before = math.fsum(earlier) / WEEKS_BEFORE if monday - begin >= WEEKS_BEFORE * WEEK else None
        if monday >= first_open:
            found[week_of(monday)] = LoadPattern(before, None, None, None)
            continue
        daily = [days.get(monday + place * DAY, 0.0) for place in range(7)]
        change = None if before is None or before < LEAST_MEAN_S else 100 * (hold_s / before - 1)
        found[week_of(monday)] = LoadPattern(before, change, monotony(daily), strain(daily))
    return found


def _monday(day: date) -> date:
    return day - day.weekday() * DAY
