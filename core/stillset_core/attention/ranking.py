"""The list of attention: every check over every athlete, strongest first."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from stillset_core.attention.catalogue import ATHLETE_CHECKS, CATALOGUE
from stillset_core.attention.decline import STRENGTH_FALLING
from stillset_core.attention.instrument import instrument_shift, on_serial
from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.attention.pain import PAIN_WITH_FALLING
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol

__all__ = ["attention_of", "attention_of_squad"]

_RANK = {check.code: rank for rank, check in enumerate(CATALOGUE)}
DEPENDENT = frozenset({STRENGTH_FALLING, PAIN_WITH_FALLING})
"""Checks that an instrument in question may explain."""


def attention_of(athlete: str, state: AthleteState, protocol: Protocol) -> tuple[AttentionItem, ...]:
    """List what to look at in one athlete, strongest first.

    An instrument is judged by its athletes together: see `attention_of_squad`.

    Parameters
    ----------
    athlete : str
        The athlete's ref, which the items carry.
    state : AthleteState
    protocol : Protocol
        Gives the pain marks, overdue_days and the smallest change.

    Returns
    -------
    tuple of AttentionItem
    """
    return _ranked(_checked(Watched(athlete, state, protocol)))


def attention_of_squad(states: Mapping[str, AthleteState], protocol: Protocol) -> tuple[AttentionItem, ...]:
    """List what to look at in a squad, strongest first, with the instruments in question.

    Parameters
    ----------
    states : mapping of athlete ref to AthleteState
        All as of the same moment.
    protocol : Protocol

    Returns
    -------
    tuple of AttentionItem
        Falling strength measured on an instrument in question says so and comes last of its rule.
    """
    squad = [Watched(athlete, state, protocol) for athlete, state in sorted(states.items())]
    instruments = tuple(instrument_shift(squad))
    serials = {str(item.evidence["serial"]) for item in instruments}
    items = [
        _doubted(item, serial) if (serial := on_serial(watched)) in serials and item.rule in DEPENDENT else item
        for watched in squad
        for item in _checked(watched)
    ]
    return _ranked((*instruments, *items))


def _checked(watched: Watched) -> Iterable[AttentionItem]:
    return (item for _, check in ATHLETE_CHECKS for item in check(watched))


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
