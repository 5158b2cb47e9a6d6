"""The bodies of the routes that manage a club, with their limits. Unknown members are refused."""

from datetime import date
from enum import StrEnum
from typing import Annotated

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, FiniteFloat, ValidationInfo

from stillset_core.periods import PeriodKind
from stillset_core.records import Direction, InstrumentKind, Side
from stillset_core.rfc3339 import parse_full_date
from stillset_service.auth.scopes import Scope
from stillset_service.views.answered import AnswerKind

__all__ = [
    "AmendBody",
    "AnswerBody",
    "AthleteBody",
    "AthletePatch",
    "KeyBody",
    "PeriodBody",
    "PlanBody",
    "PositionBody",
    "Ref",
    "SquadBody",
    "SquadPatch",
    "StandardPositionBody",
    "WithdrawBody",
]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


def _full_date(value: object) -> date:
    if not isinstance(value, str):
        raise ValueError("must be a date as YYYY-MM-DD")  # noqa: TRY004 (pydantic collects ValueErrors only)
    return parse_full_date(value)


def _not_before_from(value: date | None, info: ValidationInfo) -> date | None:
    begin = info.data.get("from_")
    if value is not None and begin is not None and value < begin:
        raise ValueError("lies before 'from'")
    return value


Ref = Annotated[str, Field(pattern=r"^[A-Za-z0-9._-]{1,64}$")]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Word = Annotated[str, Field(min_length=1, max_length=64)]
Day = Annotated[date, BeforeValidator(_full_date)]
Reason = Annotated[str, Field(min_length=1, max_length=500)]
"""Lengths that the contract leaves open: our choice, no source."""


class Sex(StrEnum):
    """Sex as on file, for norms."""

    FEMALE = "female"
    MALE = "male"
    OTHER = "other"


class SquadBody(_Strict):
    """A new squad; without a name it is called by its ref."""

    ref: Ref
    name: Name | None = None


class SquadPatch(_Strict):
    """Changes to a squad; a ref stays."""

    ref: Ref | None = None
    name: Name | None = None


class AthletePatch(_Strict):
    """Changes to an athlete; what is left out stays, null clears, a ref stays."""

    ref: Ref | None = None
    name: Name | None = None
    squad: Ref | None = None
    role: Word | None = None
    dominant_side: Annotated[Side, Field(strict=False)] | None = None
    sex: Annotated[Sex, Field(strict=False)] | None = None
    born: Day | None = None
    archived: bool | None = None


class AthleteBody(AthletePatch):
    """A new athlete."""

    ref: Ref


class PositionBody(_Strict):
    """The position in which an athlete's readings are comparable."""

    name: Annotated[str, Field(pattern=r"^[a-z0-9-]{1,40}$")]
    knee_angle_deg: Annotated[FiniteFloat, Field(ge=0, le=150)] | None = None
    hip_angle_deg: Annotated[FiniteFloat, Field(ge=0, le=150)] | None = None
    bar_height: Annotated[FiniteFloat, Field(ge=-1000, le=1000)] | None = None
    foot_mark: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    arms: Annotated[str, Field(min_length=1, max_length=40)] | None = None


class StandardPositionBody(_Strict):
    """A standard position from a date on."""

    position: PositionBody
    instrument_kind: Annotated[InstrumentKind, Field(strict=False)]
    valid_from: Day
    measured_by: Word | None = None


class PeriodBody(_Strict):
    """A dated span of an athlete, both days included; without ``to`` it is still open."""

    kind: Annotated[PeriodKind, Field(strict=False)]
    from_: Annotated[Day, Field(alias="from")]
    to: Annotated[Day | None, AfterValidator(_not_before_from)] = None
    note: Annotated[str, Field(max_length=2000)] | None = None


def _not_with_a_scale(value: str | None, info: ValidationInfo) -> str | None:
    if value is not None and info.data.get("noise_scale") is not None:
        raise ValueError("goes without 'noise_scale'")
    return value


class PlanBody(_Strict):
    """A rhythm of sets, whose noise, and what is asked of it. Limits are our choice, no source.

    A call that stands keeps others away, so that more than nine of ten are never called in a few weeks; an
    onset is watched for eight.
    """

    sets_per_week: Annotated[FiniteFloat, Field(ge=0.1, le=21)]
    maximal_share: Annotated[FiniteFloat, Field(ge=0.01, le=1)] = 1.0
    noise_scale: Annotated[FiniteFloat, Field(ge=0.3, le=3)] | None = None
    athlete: Annotated[Word | None, AfterValidator(_not_with_a_scale)] = None
    weeks: Annotated[FiniteFloat, Field(ge=1, le=8)] = 3.0
    power: Annotated[FiniteFloat, Field(ge=0.5, le=0.9)] = 0.8
    decline_percent: Annotated[FiniteFloat, Field(gt=0, le=50)] | None = None


class AnswerBody(_Strict):
    """What is answered to an attention item: of an athlete or, without one, of an instrument's serial."""

    athlete: Ref | None = None
    rule: Annotated[str, Field(pattern=r"^[a-z-]{1,64}$")]
    direction: Annotated[Direction, Field(strict=False)] | None = None
    side: Annotated[Side, Field(strict=False)] | None = None
    serial: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    answer: Annotated[AnswerKind, Field(strict=False)]
    text: Annotated[str, Field(min_length=1, max_length=500)] | None = None
    until: Day | None = None


class KeyBody(_Strict):
    """A new key."""

    name: Name
    scopes: Annotated[list[Annotated[Scope, Field(strict=False)]], Field(min_length=1, max_length=3)]


class WithdrawBody(_Strict):
    """Why a set is withdrawn."""

    reason: Reason


class AmendBody(_Strict):
    """Why a set is amended, and a JSON merge patch on the set as it stands."""

    reason: Reason
    changes: dict[str, object]
