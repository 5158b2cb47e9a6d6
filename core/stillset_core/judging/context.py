"""What a rule may look at: the set, its session so far, the standard position and the protocol.

There is no force history, no level and no trend here, and no field that could hold one. A rule
that admitted only forces near expectation would hide the decline that the trend exists to find.
"""

from dataclasses import dataclass

from stillset_core.protocol import Protocol
from stillset_core.records import SetRecord, StandardPosition

__all__ = ["NO_SET_UP", "SetContext", "SetUp", "Stated"]

Stated = tuple[float, float]
"""A set-up value as a set stated it, and the standard's value then."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """How the series was set up lately.

    Bar heights and knee angles stated by earlier sets of the series that no position rule set
    aside, oldest first, the last five of each at most.
    """

    bar_heights: tuple[Stated, ...] = ()
    knee_angles: tuple[Stated, ...] = ()


NO_SET_UP = SetUp()
"""Nothing was stated before."""


@dataclass(frozen=True, slots=True)
class SetContext:
    """One set and what it is held against.

    ``prior_hard_s`` is the time held at 80 % planned effort or more in earlier sets of the session.
    """

    record: SetRecord
    standard: StandardPosition | None
    protocol: Protocol
    prior_hard_s: float = 0.0
    set_up: SetUp = NO_SET_UP
