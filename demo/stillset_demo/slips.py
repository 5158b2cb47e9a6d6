"""What goes otherwise than planned in a set, how often with which client, and which standing it then deserves."""

from dataclasses import dataclass
from enum import StrEnum

from stillset_demo.forces import Hold, PlannedHold
from stillset_demo.roster import Habit

__all__ = ["SET_ASIDE_BY", "SLIPS", "SLIP_SHIFT", "Deserved", "Slip", "deserved_by"]


class Slip(StrEnum):
    """What went otherwise than planned in a set."""

    NONE = "none"
    SHORT_DIRECTION = "short-direction"
    SHORT_HOLD = "short-hold"
    HURRIED = "hurried"
    OTHER_POSITION = "other-position"
    BAR_OFF = "bar-off"
    KNEE_OFF = "knee-off"
    UNVERIFIED = "unverified"
    UNPLANNED = "unplanned"
    AFTER_WORK = "after-work"


SLIPS: dict[Habit, dict[Slip, float]] = {
    Habit.TABLET: {
        Slip.SHORT_DIRECTION: 0.02,
        Slip.HURRIED: 0.03,
        Slip.OTHER_POSITION: 0.015,
        Slip.AFTER_WORK: 0.015,
    },
    Habit.GYM_APP: {Slip.UNVERIFIED: 0.06, Slip.KNEE_OFF: 0.03, Slip.OTHER_POSITION: 0.015},
    Habit.FRAME_LOGGER: {Slip.UNPLANNED: 0.18, Slip.SHORT_HOLD: 0.06, Slip.SHORT_DIRECTION: 0.02, Slip.BAR_OFF: 0.03},
}
"""How often each client's maximal sets go otherwise than planned."""

SLIP_SHIFT = {Slip.OTHER_POSITION: 0.10, Slip.BAR_OFF: -0.06, Slip.KNEE_OFF: -0.05, Slip.AFTER_WORK: -0.05}
"""What a slip does to the force, on the log scale."""

SET_ASIDE_BY = {
    Slip.OTHER_POSITION: "other-position",
    Slip.BAR_OFF: "bar-height-off",
    Slip.KNEE_OFF: "knee-angle-off",
    Slip.UNVERIFIED: "position-unverified",
    Slip.AFTER_WORK: "not-fresh",
}


@dataclass(frozen=True, slots=True)
class Deserved:
    """The standing that one direction of a set deserves; ``rule`` is one that must be among the reasons."""

    direction: str
    standing: str
    rule: str | None


def deserved_by(done: tuple[Hold, ...], whole_set_rule: str | None) -> tuple[Deserved, ...]:
    """Say what each direction deserves: aside with the whole set, too short throughout, or by its planned effort."""
    return tuple(
        _of_direction(direction, [hold.plan for hold in done if hold.plan.direction == direction], whole_set_rule)
        for direction in ("squeeze", "spread")
        if any(hold.plan.direction == direction for hold in done)
    )


def _of_direction(direction: str, plans: list[PlannedHold], whole_set_rule: str | None) -> Deserved:
    if whole_set_rule is not None:
        return Deserved(direction, "set_aside", whole_set_rule)
    if all(plan.hold_s < 3.0 for plan in plans):
        return Deserved(direction, "set_aside", "hold-too-short")
    if all(plan.intended is None for plan in plans):
        return Deserved(direction, "at_least", "effort-unknown")
    if all(plan.intended is not None and plan.intended < 95 for plan in plans):
        return Deserved(direction, "at_least", "planned-below-maximal")
    return Deserved(direction, "counts", None)
