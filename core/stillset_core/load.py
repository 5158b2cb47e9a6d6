"""Load: what sets were as work, whether or not they count as strength.

Hard seconds are the hold seconds of reps at or above 80 % of the level that the series had before
the set. The work of a single set is in ``set_load``.
"""

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from stillset_core.judged import JudgedSet
from stillset_core.protocol import Protocol, Value
from stillset_core.records import STRENGTHS, Direction, Rep, SetRecord, Side
from stillset_core.set_load import SetLoad, set_load
from stillset_core.trend import FilteredHistory, SeriesTrend, level_of

__all__ = ["HARD_SHARE", "LoadWeek", "SetLoad", "load_weeks", "set_load", "week_of"]

HARD_SHARE = 0.80
"""Share of the level from which a hold is hard."""
_LEFT, _RIGHT = Side
AT_LIMIT = 1e-9
"""Shares this close to the limit are at the limit."""


@dataclass(frozen=True, slots=True)
class LoadWeek:
    """Work of one ISO week, by the local date of each set.

    ``impulse_n_s`` is None for a week without any force; ``hard_s`` is None for a week in which no
    rep had a level to be held against.
    """

    week: str
    reps: int
    hold_s: float
    impulse_n_s: float | None
    hard_s: float | None


def load_weeks(judged: Iterable[JudgedSet], trends: Sequence[SeriesTrend], protocol: Protocol) -> tuple[LoadWeek, ...]:
    """Load of one athlete by ISO week, oldest first; weeks without a set have no row.

    Parameters
    ----------
    judged : iterable of JudgedSet
        The athlete's sets in any order, whatever their standing.
    trends : sequence of SeriesTrend
        The athlete's trends: the levels that hard seconds are measured against.
    protocol : Protocol
        Names the force that a level is made of, peak or mean; a rep is compared with that one, and
        with the other where it was not sent.

    Returns
    -------
    tuple of LoadWeek
        The week is ``YYYY-Www`` of the date of ``performed_at`` in its own offset.
    """
    filtered = {trend.key: trend.filtered for trend in trends}
    weeks: defaultdict[str, list[tuple[SetLoad, float | None]]] = defaultdict(list)
    for one in judged:
        history = None if one.series is None else filtered.get(one.series)
        hard_s = None if history is None else _hard_s(one.record, history, protocol.value)
        weeks[week_of(one.record.performed_at)].append((one.load, hard_s))
    return tuple(_week(week, sets) for week, sets in sorted(weeks.items()))


def week_of(day: date) -> str:
    """Name the ISO week of a date, or of a time by its own calendar date: ``YYYY-Www``."""
    year, week, _ = day.isocalendar()
    return f"{year:04d}-W{week:02d}"


def _week(week: str, sets: Sequence[tuple[SetLoad, float | None]]) -> LoadWeek:
    return LoadWeek(
        week=week,
        reps=sum(load.reps for load, _ in sets),
        hold_s=math.fsum(load.hold_s for load, _ in sets),
        impulse_n_s=_sum_of_known(load.impulse_n_s for load, _ in sets),
        hard_s=_sum_of_known(hard_s for _, hard_s in sets),
    )


def _sum_of_known(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return math.fsum(known) if known else None


def _hard_s(record: SetRecord, history: FilteredHistory, value: Value) -> float | None:
    """Hard seconds of one set against the levels after the last reading strictly before it; None without a level."""
    row = bisect_left(history.at, record.performed_at) - 1
    if row < 0:
        return None
    levels = {
        strength: level_of(mean, 0.0).level
        for strength, mean, seen in zip(STRENGTHS, history.mean[row].tolist(), history.seen[row].tolist(), strict=True)
        if seen
    }
    takes_peak = value is Value.PEAK
    shares = [(rep.hold_s, _share(rep, levels, takes_peak=takes_peak)) for rep in record.reps]
    if all(share is None for _, share in shares):
        return None
    return math.fsum(hold_s for hold_s, share in shares if share is not None and share >= HARD_SHARE - AT_LIMIT)


def _share(rep: Rep, levels: Mapping[tuple[Direction, Side], float], *, takes_peak: bool) -> float | None:
    """Force as a share of the level, the higher of the two sides'; None if no side has both."""
    highest: float | None = None
    for side, force in ((_LEFT, rep.left), (_RIGHT, rep.right)):
        level = levels.get((rep.direction, side))
        if force is not None and level is not None:
            share = (force.peak if takes_peak or force.mean is None else force.mean) / level
            highest = share if highest is None else max(highest, share)
    return highest
