"""From an athlete's records to everything derived of them: the one door of the core.

Two steps, so that a caller can keep the first: judging reads the records once, and deriving reads
the judged sets as of any time. Nothing flows back.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from stillset_core.balance import Balance, balance_of
from stillset_core.history import judge_history, readings_of
from stillset_core.judged import JudgedSet
from stillset_core.load import LoadWeek, load_weeks
from stillset_core.pain import PainEntry, pain_entries
from stillset_core.protocol import Protocol
from stillset_core.records import SetRecord, Side, StandardPosition
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import SeriesTrend, trend_of

__all__ = ["AthleteHistory", "AthleteState", "derive", "derive_from_judged"]


@dataclass(frozen=True, slots=True)
class AthleteHistory:
    """All that is known of one athlete: the active sets and the standard positions, in any order, and the protocol."""

    records: tuple[SetRecord, ...]
    positions: tuple[StandardPosition, ...]
    protocol: Protocol
    dominant_side: Side | None = None


@dataclass(frozen=True, slots=True)
class AthleteState:
    """Everything derived of one athlete at one time.

    Attributes
    ----------
    as_of : datetime
        Sets up to this instant are taken in.
    judged : tuple of JudgedSet
        Oldest first.
    readings : tuple of Reading
        In the order of the engine.
    trends : tuple of SeriesTrend
        One for each series with a reading, the latest used first.
    balances : tuple of Balance
        One for each trend, in the same order.
    load_weeks : tuple of LoadWeek
        Oldest first.
    pain : tuple of PainEntry
        Oldest first.
    """

    as_of: datetime
    judged: tuple[JudgedSet, ...]
    readings: tuple[Reading, ...]
    trends: tuple[SeriesTrend, ...]
    balances: tuple[Balance, ...]
    load_weeks: tuple[LoadWeek, ...]
    pain: tuple[PainEntry, ...]


def derive(history: AthleteHistory, as_of: datetime) -> AthleteState:
    """Judge an athlete's sets and derive everything from them.

    Parameters
    ----------
    history : AthleteHistory
        What is known, whenever it came in.
    as_of : datetime
        Aware; sets performed later are left out.

    Returns
    -------
    AthleteState
        A pure function of its arguments: order, batching and repetition of arrival cannot show in it.
    """
    judged = judge_history(history.records, history.positions, history.protocol)
    return derive_from_judged(judged, history.protocol, history.dominant_side, as_of)


def derive_from_judged(
    judged: Sequence[JudgedSet], protocol: Protocol, dominant_side: Side | None, as_of: datetime
) -> AthleteState:
    """Derive everything from sets that ``judge_history`` judged, under the same protocol.

    Parameters
    ----------
    judged : sequence of JudgedSet
        All of the athlete's, oldest first. A standing depends on earlier sets only, so that what
        was judged once serves any ``as_of``.
    protocol : Protocol
        The protocol they were judged under.
    dominant_side : Side or None
        As on file, for the side gap.
    as_of : datetime
        Aware.

    Returns
    -------
    AthleteState
    """
    until = tuple(one for one in judged if one.record.performed_at <= as_of)
    readings = readings_of(until)
    trends = tuple(trend_of(of_series, protocol, as_of) for of_series in _latest_series_first(readings))
    return AthleteState(
        as_of=as_of,
        judged=until,
        readings=readings,
        trends=trends,
        balances=tuple(balance_of(trend, protocol, dominant_side) for trend in trends),
        load_weeks=load_weeks(until, trends, protocol),
        pain=pain_entries(one.record for one in until),
    )


def _latest_series_first(readings: Sequence[Reading]) -> list[list[Reading]]:
    """Part the readings, which are in order, by series; the one with the latest reading comes first."""
    parted: defaultdict[SeriesKey, list[Reading]] = defaultdict(list)
    for reading in readings:
        parted[reading.series].append(reading)
    return sorted(parted.values(), key=lambda of_series: of_series[-1].order, reverse=True)
