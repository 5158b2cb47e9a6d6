"""The list of attention: every check over every athlete, strongest first."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from stillset_core.attention.catalogue import ATHLETE_CHECKS, CATALOGUE, INSTRUMENT_CHECK, Check
from stillset_core.attention.decline import STRENGTH_FALLING
from stillset_core.attention.instrument import instrument_shift, on_serial
from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.attention.pain import PAIN_WITH_FALLING
from stillset_core.numbers import day
from stillset_core.periods import Period, running_away
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol

__all__ = ["attention_of", "attention_of_squad"]

_RANK = {check.code: rank for rank, check in enumerate(CATALOGUE)}
NO_PERIODS: Mapping[str, Sequence[Period]] = MappingProxyType({})
DEPENDENT = frozenset({STRENGTH_FALLING, PAIN_WITH_FALLING})
"""Checks that an instrument in question may explain."""


def attention_of(
    athlete: str, state: AthleteState, protocol: Protocol, periods: Sequence[Period] = ()
) -> tuple[AttentionItem, ...]:
    """List what to look at in one athlete, strongest first.

    An instrument is judged by its athletes together: see `attention_of_squad`.

    Parameters
    ----------
    athlete : str
        The athlete's ref, which the items carry.
    state : AthleteState
    protocol : Protocol
        Gives the pain marks, overdue_days and the smallest change.
    periods : sequence of Period
        The athlete's: a running injury, rehabilitation or break is mentioned, and nobody in a break is overdue.

    Returns
    -------
    tuple of AttentionItem
    """
    return _ranked(_checked(Watched(athlete, state, protocol, tuple(periods))))


def attention_of_squad(
    states: Mapping[str, AthleteState], protocol: Protocol, periods: Mapping[str, Sequence[Period]] = NO_PERIODS
) -> tuple[AttentionItem, ...]:
    """List what to look at in a squad, strongest first, with the instruments in question.

    Parameters
    ----------
    states : mapping of athlete ref to AthleteState
        All as of the same moment.
    protocol : Protocol
    periods : mapping of athlete ref to sequence of Period
        See `attention_of`.

    Returns
    -------
    tuple of AttentionItem
        Falling strength measured on an instrument in question says so and comes last of its rule.
    """
    squad = [
        Watched(athlete, state, protocol, tuple(periods.get(athlete, ()))) for athlete, state in sorted(states.items())
    ]
    instruments = tuple(_told(item, INSTRUMENT_CHECK, protocol) for item in instrument_shift(squad))
    serials = {str(item.evidence["serial"]) for item in instruments}
    items = [
        _doubted(item, serial) if (serial := on_serial(watched)) in serials and item.rule in DEPENDENT else item
        for watched in squad
        for item in _checked(watched)
    ]
    return _ranked((*instruments, *items))


def _checked(watched: Watched) -> Iterable[AttentionItem]:
    running = running_away(watched.periods, watched.state.as_of.date())
    for entry, check in ATHLETE_CHECKS:
        for item in check(watched):
            yield _told(_placed(item, running), entry, watched.protocol)


def _told(item: AttentionItem, check: Check, protocol: Protocol) -> AttentionItem:
    """Add what would clear the item."""
    marks = {name: f"{value:g}" for name, value in protocol.settings().items() if isinstance(value, int | float)}
    return replace(item, clears=check.clears.format_map(marks))


def _placed(item: AttentionItem, running: Sequence[Period]) -> AttentionItem:
    """Say in which injury, rehabilitation or break the athlete is."""
    if not running:
        return item
    spans = tuple(f"{period.kind.value} since {day(period.begin)}" for period in running)
    return replace(item, text=f"{item.text} On file: {', '.join(spans)}.", evidence={**item.evidence, "periods": spans})


def _doubted(item: AttentionItem, serial: str | None) -> AttentionItem:
    return replace(
        item,
        text=f"{item.text} Measured on instrument {serial}, which is itself in question.",
        evidence={**item.evidence, "instrument_in_question": serial},
        doubtful=True,
    )


def _ranked(items: Iterable[AttentionItem]) -> tuple[AttentionItem, ...]:
    """Order by rule, then doubt, then weight; equal ones keep athlete, direction and side in order."""
    return tuple(sorted(items, key=lambda item: (_RANK[item.rule], item.doubtful, -item.weight)))
