"""What judging says about a set: standings, with reasons and cautions, and the reading that results."""

from dataclasses import dataclass
from enum import StrEnum

from stillset_core.records import Direction

__all__ = ["Bound", "Counted", "DirectionOutcome", "Outcome", "Remark", "Standing"]


class Standing(StrEnum):
    """Outcome of judging a direction of a set."""

    COUNTS = "counts"
    AT_LEAST = "at_least"
    SET_ASIDE = "set_aside"


@dataclass(frozen=True, slots=True)
class Remark:
    """A reason or a caution: the rule's code, what was seen, what was needed, and one sentence."""

    rule: str
    seen: float | str
    needed: float | str
    text: str


@dataclass(frozen=True, slots=True)
class Counted:
    """The strength value of a direction that counts.

    ``left`` and ``right`` are the protocol's summary in SI, None for a side that was not measured.
    ``reps_left`` and ``reps_right`` count the counting reps that measured each side (the n of the
    order-statistic correction); ``maximal_reps`` counts the counting reps of the direction.
    ``adjusted_left`` and ``adjusted_right`` are brought to the protocol's rep count.
    """

    left: float | None
    right: float | None
    adjusted_left: float | None
    adjusted_right: float | None
    maximal_reps: int
    reps_left: int
    reps_right: int


@dataclass(frozen=True, slots=True)
class Bound:
    """The highest lower bound of each side of a direction that stands as at_least, in SI."""

    left: float | None
    right: float | None


@dataclass(frozen=True, slots=True)
class DirectionOutcome:
    """Standing of one direction of a set."""

    direction: Direction
    standing: Standing
    reasons: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    reading: Counted | Bound | None


Outcome = tuple[DirectionOutcome, ...]
"""One entry for each direction in the set, squeeze first."""
