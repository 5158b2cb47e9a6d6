"""The members of one set as the API contract writes them, each with its limits.

Typed dictionaries, so that a validated set is the very mapping that the client sent; what one member says about
another is checked in ``relations.py``. Unknown members are refused, numbers are never read from strings or booleans.
"""

from typing import Annotated, Final, Literal, NotRequired

from pydantic import ConfigDict, Field, with_config
from typing_extensions import TypedDict

from stillset_core.units import UnitCode

__all__ = [
    "InstrumentMembers",
    "PainMembers",
    "PositionMembers",
    "RepMembers",
    "SetMembers",
    "SideMembers",
    "TraceMembers",
]

_STRICT: Final = ConfigDict(extra="forbid", strict=True)


Text40 = Annotated[str, Field(min_length=1, max_length=40)]
Text64 = Annotated[str, Field(min_length=1, max_length=64)]
Text80 = Annotated[str, Field(min_length=1, max_length=80)]
Slug = Annotated[str, Field(pattern=r"^[a-z0-9-]{1,40}$")]
Finite = Annotated[float, Field(allow_inf_nan=False)]
Angle = Annotated[Finite, Field(ge=0, le=150)]
Percent = Annotated[Finite, Field(ge=0, le=120)]
Score = Annotated[Finite, Field(ge=0, le=10)]


@with_config(_STRICT)
class SideMembers(TypedDict):
    """Peak and mean of one side of a rep, in the set's unit."""

    peak: Annotated[Finite, Field(gt=0)]
    mean: NotRequired[Annotated[Finite, Field(ge=0)] | None]


@with_config(_STRICT)
class RepMembers(TypedDict):
    """One hold."""

    direction: Literal["squeeze", "spread"]
    hold_s: Annotated[Finite, Field(gt=0, le=600)]
    left: NotRequired[SideMembers | None]
    right: NotRequired[SideMembers | None]
    started_s: NotRequired[Annotated[Finite, Field(ge=0, le=86400)] | None]
    intended_percent: NotRequired[Percent | None]


Samples = Annotated[list[Finite | None], Field(max_length=300_000, fail_fast=True)]


@with_config(_STRICT)
class TraceMembers(TypedDict):
    """Sampled force in the set's unit: squeeze positive, spread negative, null for a lost sample."""

    rate_hz: Annotated[Finite, Field(ge=20, le=5000)]
    left: NotRequired[Samples | None]
    right: NotRequired[Samples | None]


@with_config(_STRICT)
class PositionMembers(TypedDict):
    """Body position."""

    name: Slug
    knee_angle_deg: NotRequired[Angle | None]
    hip_angle_deg: NotRequired[Angle | None]
    bar_height: NotRequired[Annotated[Finite, Field(ge=-1000, le=1000)] | None]
    foot_mark: NotRequired[Text40 | None]
    arms: NotRequired[Text40 | None]


@with_config(_STRICT)
class InstrumentMembers(TypedDict):
    """The instrument: its class, never its make."""

    kind: Literal["fixed-frame", "hand-held", "pressure-cuff", "isokinetic", "other"]
    serial: NotRequired[Text40 | None]
    zeroed: NotRequired[bool | None]
    checked_on: NotRequired[Annotated[str, Field(json_schema_extra={"format": "date"})] | None]


@with_config(_STRICT)
class PainMembers(TypedDict):
    """Pain: a score, or whether there was any."""

    score: NotRequired[Score | None]
    present: NotRequired[bool | None]
    site: NotRequired[Text80 | None]
    when: NotRequired[Literal["during", "after", "next-day"] | None]


@with_config(_STRICT)
class SetMembers(TypedDict):
    """One set of holds of one athlete, in one position, on one instrument, in one unit."""

    client_ref: Text64
    athlete: Text64
    performed_at: Annotated[str, Field(json_schema_extra={"format": "date-time"})]
    session_ref: NotRequired[Text64 | None]
    purpose: NotRequired[Literal["training", "warm-up", "test"] | None]
    position: PositionMembers
    instrument: InstrumentMembers
    unit: UnitCode
    intended_percent: NotRequired[Percent | None]
    rpe: NotRequired[Score | None]
    reps: NotRequired[Annotated[list[RepMembers], Field(min_length=1, max_length=60)] | None]
    trace: NotRequired[TraceMembers | None]
    pain: NotRequired[PainMembers | None]
    body_mass_kg: NotRequired[Annotated[Finite, Field(ge=20, le=300)] | None]
    note: NotRequired[Annotated[str, Field(max_length=2000)] | None]
