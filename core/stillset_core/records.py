"""The record of a set: what a logging client sent, in SI units, with nothing left to interpret.

Everything here is a frozen value. Absent means ``None``; unknown effort is never 100 %.
Left comes before right everywhere.
"""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from itertools import product

__all__ = [
    "STRENGTHS",
    "Direction",
    "Instrument",
    "InstrumentKind",
    "Pain",
    "PainWhen",
    "Position",
    "Purpose",
    "Quantity",
    "Rep",
    "SetRecord",
    "Side",
    "SideForce",
    "StandardPosition",
    "TraceFindings",
]


class Direction(StrEnum):
    """Squeeze is hip adduction against the pads, spread is abduction. Squeeze comes first."""

    SQUEEZE = "squeeze"
    SPREAD = "spread"


class Side(StrEnum):
    """Side of the body."""

    LEFT = "left"
    RIGHT = "right"


STRENGTHS = tuple(product(Direction, Side))
"""The four strengths of a series, in their order everywhere: squeeze left, squeeze right, spread left, spread right."""


class Purpose(StrEnum):
    """Why the set was done."""

    TRAINING = "training"
    WARM_UP = "warm-up"
    TEST = "test"


class InstrumentKind(StrEnum):
    """Class of instrument, never a make. Different kinds never share a series."""

    FIXED_FRAME = "fixed-frame"
    HAND_HELD = "hand-held"
    PRESSURE_CUFF = "pressure-cuff"
    ISOKINETIC = "isokinetic"
    OTHER = "other"


class Quantity(StrEnum):
    """What was measured, named by its SI unit as the contract spells it."""

    FORCE = "N"
    TORQUE = "N.m"
    PRESSURE = "Pa"


class PainWhen(StrEnum):
    """When the pain was felt."""

    DURING = "during"
    AFTER = "after"
    NEXT_DAY = "next-day"


@dataclass(frozen=True, slots=True)
class Position:
    """Body position of a set, as far as the client stated it (angles in degrees, bar height in the club's scale)."""

    name: str
    knee_angle_deg: float | None = None
    hip_angle_deg: float | None = None
    bar_height: float | None = None
    foot_mark: str | None = None
    arms: str | None = None


@dataclass(frozen=True, slots=True)
class Instrument:
    """The instrument of a set, as far as the client stated it."""

    kind: InstrumentKind
    serial: str | None = None
    zeroed: bool | None = None
    checked_on: date | None = None


@dataclass(frozen=True, slots=True)
class SideForce:
    """Peak and mean over one hold on one side, in the SI unit of the set's quantity."""

    peak: float
    mean: float | None = None


@dataclass(frozen=True, slots=True)
class Rep:
    """One hold.

    Attributes
    ----------
    direction : Direction
    hold_s : float
        Hold time in seconds.
    left, right : SideForce or None
        At least one is present.
    started_s : float or None
        Seconds from the start of the set to the start of this hold.
    intended_percent : float or None
        Planned effort in % of maximal, already resolved (the rep's own, else the set's); None is unknown.
    clipped, gap : bool
        Faults of the trace that this rep was found in; False for reps that were sent as numbers.
    """

    direction: Direction
    hold_s: float
    left: SideForce | None = None
    right: SideForce | None = None
    started_s: float | None = None
    intended_percent: float | None = None
    clipped: bool = False
    gap: bool = False


@dataclass(frozen=True, slots=True)
class TraceFindings:
    """What was found in the trace besides its reps; offsets in the SI unit of the set, None for a side not recorded."""

    offset_left: float | None
    offset_right: float | None


@dataclass(frozen=True, slots=True)
class Pain:
    """Pain as stated: a score 0–10, or yes/no without a score. Never both; a missing answer is no ``Pain`` at all."""

    score: float | None = None
    present: bool | None = None
    site: str | None = None
    when: PainWhen = PainWhen.DURING


@dataclass(frozen=True, slots=True)
class SetRecord:
    """One set of holds in SI units.

    ``reps`` may be empty only if the set came as a trace in which no rep was found; ``trace`` is None
    for sets that were sent as reps.
    """

    client_ref: str
    athlete: str
    performed_at: datetime
    position: Position
    instrument: Instrument
    quantity: Quantity
    reps: tuple[Rep, ...]
    session_ref: str | None = None
    purpose: Purpose = Purpose.TRAINING
    rpe: float | None = None
    trace: TraceFindings | None = None
    pain: Pain | None = None
    body_mass_kg: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class StandardPosition:
    """An athlete's standard position from a date on.

    ``valid_from`` begins at 00:00 of that date in the offset of the set's ``performed_at``.
    """

    position: Position
    instrument_kind: InstrumentKind
    valid_from: date
    measured_by: str | None = None
