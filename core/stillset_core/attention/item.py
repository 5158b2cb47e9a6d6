"""What a check looks at and what it finds: one thing to look at today, with its evidence."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from stillset_core.periods import Period
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, Side

__all__ = ["AttentionItem", "Evidence", "Watched"]

Evidence = float | str | bool | tuple[float, ...] | tuple[str, ...] | None
"""Unrounded values in SI units, counts, ISO dates and words, ready for JSON."""


@dataclass(frozen=True, slots=True)
class AttentionItem:
    """One thing to look at.

    Attributes
    ----------
    rule : str
        Code of the check in the catalogue.
    athlete : str or None
        The athlete's ref; None for an instrument.
    direction, side : Direction or None, Side or None
        None where it is about both or neither.
    text : str
        One plain sentence or two with unit, date, count and interval. Never a diagnosis.
    evidence : mapping
        What the sentence rests on, in full precision.
    since : date or None
        Since when it has been so.
    clears : str
        What would clear it, as the catalogue says it.
    weight : float
        Strength among items of the same rule: larger comes first.
    doubtful : bool
        Whether an instrument in question may explain it; comes after the others of its rule.
    """

    rule: str
    athlete: str | None
    direction: Direction | None
    side: Side | None
    text: str
    evidence: Mapping[str, Evidence] = field(default_factory=dict)
    since: date | None = None
    clears: str = ""
    weight: float = 0.0
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Watched:
    """One athlete as the checks see them."""

    athlete: str
    state: AthleteState
    protocol: Protocol
    periods: tuple[Period, ...] = ()

    def age(self, at: datetime) -> timedelta:
        """Time from an instant to ``as_of``."""
        return self.state.as_of - at
