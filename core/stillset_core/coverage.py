"""Coverage: how recent and how many an athlete's readings are, series by series."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from stillset_core.judged import JudgedSet
from stillset_core.judging.outcome import Standing
from stillset_core.protocol import Protocol
from stillset_core.series import SeriesKey

__all__ = ["LATELY", "Coverage", "coverage_of", "is_overdue"]

LATELY = timedelta(days=28)
"""Rates are over the last four weeks."""
WEEKS = LATELY / timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How well one series of one athlete is covered at a time.

    Attributes
    ----------
    series : SeriesKey or None
        None for sets without a standard position.
    last_reading_at : datetime or None
        Of the last counting reading.
    days_since : int or None
        Whole days from it to ``as_of``.
    readings, at_least, set_aside : int
        Standings (set × direction) of the last 28 days.
    readings_per_week : float
        Counting readings (set × direction) per week over the last 28 days.
    overdue : bool
        No counting reading of this athlete in any series within the protocol's overdue_days: a series
        that is no longer used is not a reason to ask for a set.
    """

    series: SeriesKey | None
    last_reading_at: datetime | None
    days_since: int | None
    readings: int
    at_least: int
    set_aside: int
    readings_per_week: float
    overdue: bool


def coverage_of(judged: Sequence[JudgedSet], as_of: datetime, protocol: Protocol) -> tuple[Coverage, ...]:
    """Coverage of one athlete's series, the one used latest first.

    Parameters
    ----------
    judged : sequence of JudgedSet
        The athlete's sets up to ``as_of``, oldest first.
    as_of : datetime
    protocol : Protocol
        Gives overdue_days.

    Returns
    -------
    tuple of Coverage
        Empty for an athlete without a set.
    """
    overdue = is_overdue(_last_counting(judged), as_of, protocol)
    series = dict.fromkeys(one.series for one in reversed(judged))
    return tuple(_coverage(key, [one for one in judged if one.series == key], as_of, overdue=overdue) for key in series)


def is_overdue(last_reading_at: datetime | None, as_of: datetime, protocol: Protocol) -> bool:
    """Whether more than the protocol's overdue_days have passed without a counting reading."""
    return last_reading_at is None or as_of - last_reading_at > timedelta(days=protocol.overdue_days)


def _coverage(key: SeriesKey | None, judged: Sequence[JudgedSet], as_of: datetime, *, overdue: bool) -> Coverage:
    last = _last_counting(judged)
    lately = Counter(
        direction.standing for one in judged if as_of - one.record.performed_at <= LATELY for direction in one.outcome
    )
    return Coverage(
        series=key,
        last_reading_at=last,
        days_since=None if last is None else (as_of - last) // timedelta(days=1),
        readings=lately[Standing.COUNTS],
        at_least=lately[Standing.AT_LEAST],
        set_aside=lately[Standing.SET_ASIDE],
        readings_per_week=lately[Standing.COUNTS] / WEEKS,
        overdue=overdue,
    )


def _last_counting(judged: Sequence[JudgedSet]) -> datetime | None:
    return max(
        (
            one.record.performed_at
            for one in judged
            if any(direction.standing is Standing.COUNTS for direction in one.outcome)
        ),
        default=None,
    )
