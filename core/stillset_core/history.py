"""Judge an athlete's sets: one among the others as it comes in, or all of them again.

Both ways give the same standings. What a set is held against depends on earlier sets only, so that
the past as it was known at a date is the present history cut there.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence

from stillset_core.judged import JudgedSet
from stillset_core.judging.context import NO_SET_UP, SetContext
from stillset_core.judging.judge import judge
from stillset_core.judging.outcome import Outcome
from stillset_core.judging.set_up import SetUpWindow, recent_set_up
from stillset_core.protocol import Protocol
from stillset_core.records import SetRecord, StandardPosition
from stillset_core.series import Reading, SeriesKey, series_of
from stillset_core.session import Sessions, prior_hard_s, set_order
from stillset_core.set_load import set_load

__all__ = ["judge_among", "judge_history", "readings_of", "standard_at"]


def standard_at(record: SetRecord, positions: Iterable[StandardPosition]) -> StandardPosition | None:
    """Find the standard position in force when a set was done.

    Parameters
    ----------
    record : SetRecord
        The set; its local date decides, in the offset of ``performed_at``.
    positions : iterable of StandardPosition
        The athlete's standard positions, in any order, one for a date.

    Returns
    -------
    StandardPosition or None
        The latest that had begun.
    """
    day = record.performed_at.date()
    best: StandardPosition | None = None
    for position in positions:
        if position.valid_from <= day and (best is None or position.valid_from >= best.valid_from):
            best = position
    return best


def judge_among(
    record: SetRecord,
    others: Sequence[SetRecord],
    positions: Sequence[StandardPosition],
    protocol: Protocol,
) -> Outcome:
    """Judge one set among the athlete's others, looking at its session and the latest set-ups only.

    Parameters
    ----------
    record : SetRecord
        The set.
    others : sequence of SetRecord
        The athlete's other active sets, sorted by (performed_at, client_ref).
    positions : sequence of StandardPosition
        The athlete's standard positions.
    protocol : Protocol
        The protocol in force.

    Returns
    -------
    Outcome
        The same as ``judge_history`` gives this set among all.
    """
    earlier = others[: bisect_left(others, set_order(record), key=set_order)]
    standard = standard_at(record, positions)
    key = series_of(record, standard)
    context = SetContext(record, standard, protocol, prior_hard_s(record, earlier))
    if key is None:
        return judge(context)

    def in_series(other: SetRecord) -> SetContext | None:
        its_standard = standard_at(other, positions)
        return SetContext(other, its_standard, protocol) if series_of(other, its_standard) == key else None

    set_up = recent_set_up(context, reversed(earlier), in_series)
    if set_up is NO_SET_UP:
        return judge(context)
    return judge(SetContext(record, standard, protocol, context.prior_hard_s, set_up))


def judge_history(
    records: Iterable[SetRecord], positions: Sequence[StandardPosition], protocol: Protocol
) -> tuple[JudgedSet, ...]:
    """Judge all sets of one athlete.

    Parameters
    ----------
    records : iterable of SetRecord
        The athlete's active sets, in any order.
    positions : sequence of StandardPosition
        The athlete's standard positions, in any order.
    protocol : Protocol
        The protocol in force; it judges all history.

    Returns
    -------
    tuple of JudgedSet
        Sorted by (performed_at, client_ref).
    """
    sessions = Sessions()
    windows: dict[SeriesKey, SetUpWindow] = {}
    judged: list[JudgedSet] = []
    for record in sorted(records, key=set_order):
        session, hard_before = sessions.take(record)
        standard = standard_at(record, positions)
        key = series_of(record, standard)
        if key is None:
            context = SetContext(record, standard, protocol, hard_before)
        else:
            window = windows.setdefault(key, SetUpWindow())
            context = SetContext(record, standard, protocol, hard_before, window.set_up())
            window.take(context)
        judged.append(JudgedSet(record, session, standard, key, judge(context), set_load(record)))
    return tuple(judged)


def readings_of(judged: Iterable[JudgedSet]) -> tuple[Reading, ...]:
    """Collect the readings: each direction of each set that counts or bounds, in the order of the engine."""
    readings = [
        Reading(
            client_ref=one.record.client_ref,
            performed_at=one.record.performed_at,
            session=one.session,
            direction=outcome.direction,
            value=outcome.reading,
            series=one.series,
        )
        for one in judged
        if one.series is not None
        for outcome in one.outcome
        if outcome.reading is not None
    ]
    return tuple(sorted(readings, key=lambda reading: reading.order))
