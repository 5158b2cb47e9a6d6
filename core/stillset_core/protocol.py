"""The club's protocol: every choice that judging and the trend depend on, with defaults and limits.

A version of the protocol is a value; the one in force judges all history. Defaults follow the
practice described in the README (5-s holds, 30 s between pairs, three pairs, warm-up at 50 and
75 %): common practice, no source.
"""

import json
import re
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import Annotated

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    FiniteFloat,
    SerializerFunctionWrapHandler,
    Tag,
    ValidationError,
    ValidationInfo,
    model_serializer,
)
from pydantic_core import ErrorDetails

from stillset_core.errors import Fault, ProtocolRefused

__all__ = [
    "BaselineDates",
    "BaselineReadings",
    "BaselineWeeks",
    "EngineOverrides",
    "Protocol",
    "SideGapFormula",
    "Summary",
    "Value",
    "parse_protocol",
]

WARM_UP_PERCENTS = (50, 75)
"""Planned effort of the two warm-up reps, % of maximal (common practice, no source)."""
STANDARD_HOLD_S = 5.0
"""Standard hold (common practice, no source)."""
STANDARD_REST_S = 30.0
"""Standard rest between pairs (common practice, no source)."""
STANDARD_PAIRS = 3
"""Standard number of squeeze/spread pairs (common practice, no source)."""


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, serialize_by_alias=True)


def _whole(value: object) -> object:
    """Let 3.0 stand for 3, as in JSON; true, "3" and 3.5 are left to be refused."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _calendar_date(value: object) -> object:
    """Read YYYY-MM-DD and nothing that only resembles it."""
    if not isinstance(value, str):
        return value
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value) is None:
        raise ValueError("needs a date as YYYY-MM-DD")
    return date.fromisoformat(value)


CalendarDate = Annotated[date, BeforeValidator(_calendar_date)]


class Value(StrEnum):
    """Which force of a hold is the value."""

    PEAK = "peak"
    MEAN = "mean"


class Summary(StrEnum):
    """How maximal reps become one value."""

    BEST = "best"
    MEAN = "mean"


class SideGapFormula(StrEnum):
    """The named formulas of the side gap; ``side_gap.py`` holds the functions."""

    OF_STRONGER = "of-stronger"
    OF_DOMINANT = "of-dominant"
    OF_SUM = "of-sum"
    OF_MEAN = "of-mean"
    SYMMETRY_ANGLE = "symmetry-angle"
    LOG_RATIO = "log-ratio"


class BaselineReadings(_Strict):
    """Baseline: the first ``readings`` counting readings of a direction."""

    readings: Annotated[int, Field(ge=1, le=100), BeforeValidator(_whole)]


def _not_before_from(value: date, info: ValidationInfo) -> date:
    first = info.data.get("from_")
    if first is not None and value < first:
        raise ValueError("'to' lies before 'from'")
    return value


class BaselineDates(_Strict):
    """Baseline: the readings between two dates, both included, in UTC."""

    from_: Annotated[CalendarDate, Field(alias="from")]
    to: Annotated[CalendarDate, AfterValidator(_not_before_from)]


class BaselineWeeks(_Strict):
    """Baseline: the first ``weeks`` weeks of a series."""

    weeks: Annotated[int, Field(ge=1, le=104), BeforeValidator(_whole)]


def _shape_of_baseline(value: object) -> str | None:
    """Tell by its members which form of a baseline was meant."""
    if isinstance(value, Mapping):
        members = set(value)
    elif isinstance(value, BaselineReadings | BaselineDates | BaselineWeeks):
        members = set(value.model_dump())
    else:
        return None
    for shape in ("readings", "weeks"):
        if shape in members:
            return shape
    return "dates" if members & {"from", "to"} else None


Baseline = Annotated[
    Annotated[BaselineReadings, Tag("readings")]
    | Annotated[BaselineDates, Tag("dates")]
    | Annotated[BaselineWeeks, Tag("weeks")],
    Discriminator(
        _shape_of_baseline,
        custom_error_type="baseline",
        custom_error_message='Input should be {"readings": n}, {"weeks": n} or {"from": date, "to": date}',
    ),
]


Positive = Annotated[FiniteFloat, Field(gt=0, le=10)]
Share = Annotated[FiniteFloat, Field(ge=0, lt=1)]
Correlation = Annotated[FiniteFloat, Field(ge=0, lt=1)]
Spread = Annotated[FiniteFloat, Field(ge=0, le=10)]


class EngineOverrides(_Strict):
    """Overrides of the trend engine's parameters, for replication; None leaves the default in force."""

    drift_per_sqrt_day: Spread | None = None
    drift_correlation: Correlation | None = None
    noise_sd: Positive | None = None
    side_noise_correlation: Correlation | None = None
    session_sd: Spread | None = None
    outlier_share: Share | None = None
    outlier_sd: Spread | None = None
    outlier_side_correlation: Correlation | None = None
    rep_sd: Spread | None = None
    bound_margin: Spread | None = None
    prior_mean_log: Annotated[FiniteFloat, Field(ge=-20, le=20)] | None = None
    prior_sd: Positive | None = None
    prior_side_correlation: Correlation | None = None
    noise_scale_prior_sd: Spread | None = None

    @model_serializer(mode="wrap")
    def _only_what_was_set(self, handler: SerializerFunctionWrapHandler) -> dict[str, object]:
        return {name: value for name, value in handler(self).items() if value is not None}


def _not_below_min_hold(value: float, info: ValidationInfo) -> float:
    shortest = info.data.get("min_hold_s")
    if shortest is not None and value < shortest:
        raise ValueError(f"max_hold_s is {value:g}, below min_hold_s, {shortest:g}")
    return value


class Protocol(_Strict):
    """The settings of one club, all with defaults; see the protocol table of the API documentation."""

    knee_angle_tolerance_deg: Annotated[FiniteFloat, Field(ge=0, le=90)] = 5.0
    bar_height_tolerance: Annotated[FiniteFloat, Field(ge=0, le=1000)] = 0.5
    min_intended_percent: Annotated[FiniteFloat, Field(ge=0, le=120)] = 95.0
    min_hold_s: Annotated[FiniteFloat, Field(ge=0, le=600)] = 3.0
    max_hold_s: Annotated[
        FiniteFloat, Field(gt=0, le=600, validate_default=True), AfterValidator(_not_below_min_hold)
    ] = 10.0
    min_rest_s: Annotated[FiniteFloat, Field(ge=0, le=3600)] = 20.0
    max_prior_hard_s: Annotated[FiniteFloat, Field(ge=0, le=36000)] = 90.0
    reps_standard: Annotated[int, Field(ge=1, le=60), BeforeValidator(_whole)] = 3
    value: Annotated[Value, Field(strict=False)] = Value.PEAK
    summary: Annotated[Summary, Field(strict=False)] = Summary.BEST
    side_gap_formula: Annotated[SideGapFormula, Field(strict=False)] = SideGapFormula.OF_STRONGER
    baseline: Baseline = BaselineReadings(readings=6)
    smallest_change_percent: Annotated[FiniteFloat, Field(gt=0, lt=100)] = 5.0
    pain_caution_score: Annotated[FiniteFloat, Field(ge=0, le=10)] = 1.0
    pain_stop_score: Annotated[FiniteFloat, Field(ge=0, le=10)] = 6.0
    overdue_days: Annotated[FiniteFloat, Field(gt=0, le=3650)] = 14.0
    instrument_check_days: Annotated[FiniteFloat, Field(gt=0, le=3650)] = 90.0
    false_calls_per_season: Annotated[FiniteFloat, Field(gt=0, le=40)] = 1.0
    trend: EngineOverrides = EngineOverrides()

    def settings(self) -> dict[str, object]:
        """Write all settings as plain JSON values, in the form in which they are read."""
        return self.model_dump(mode="json")


def parse_protocol(value: object) -> Protocol:
    """Read a club's settings from decoded JSON.

    Parameters
    ----------
    value : object
        What the JSON held; settings that are left out, or null, take their default.

    Returns
    -------
    Protocol
        The settings, within their limits.

    Raises
    ------
    ProtocolRefused
        With a fault for each member that is wrong.
    """
    if isinstance(value, Mapping):
        value = {name: member for name, member in value.items() if member is not None}
    try:
        return Protocol.model_validate(value)
    except ValidationError as error:
        raise ProtocolRefused([_fault(each) for each in error.errors(include_url=False)]) from error


_CODES = {"missing": "missing", "extra_forbidden": "unknown-field"}
_TAGGED = "baseline"
"""The setting whose error paths hold, after its name, the tag of the form that was meant."""


def _fault(error: ErrorDetails) -> Fault:
    path = [str(part) for part in error["loc"]]
    if path[:1] == [_TAGGED]:
        del path[1:2]
    pointer = "".join("/" + part.replace("~", "~0").replace("/", "~1") for part in path)
    kind = error["type"]
    code = _CODES.get(kind, "type" if kind.endswith("_type") else "value")
    return Fault(pointer, code, _detail(error))


def _detail(error: ErrorDetails) -> str:
    """Say what is needed and, where it is short, what was seen."""
    if error["type"] == "model_type":
        return "Input should be an object"
    needed = error["msg"].removeprefix("Value error, ")
    seen = error["input"]
    short = isinstance(seen, bool | float | str) and len(str(seen)) <= 40
    return f"{needed}; seen {json.dumps(seen)}" if short and error["type"] != "value_error" else needed
