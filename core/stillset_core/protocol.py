"""The club's protocol: every choice that judging and the trend depend on, with defaults and limits.

A version of the protocol is a value; the one in force judges all history. Defaults follow the
practice described in the README (5-s holds, 30 s between pairs, three pairs, warm-up at 50 and
75 %): common practice, no source.
"""

from datetime import date
from enum import StrEnum
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat, model_validator

__all__ = [
    "BaselineDates",
    "BaselineReadings",
    "BaselineWeeks",
    "EngineOverrides",
    "Protocol",
    "SideGapFormula",
    "Summary",
    "Value",
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
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


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

    readings: Annotated[int, Field(ge=1, le=100)] = 6


class BaselineDates(_Strict):
    """Baseline: the readings between two dates, both included, in UTC."""

    from_: Annotated[date, Field(alias="from", strict=False)]
    to: Annotated[date, Field(strict=False)]

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.to < self.from_:
            raise ValueError("'to' lies before 'from'")
        return self


class BaselineWeeks(_Strict):
    """Baseline: the first ``weeks`` weeks of a series."""

    weeks: Annotated[int, Field(ge=1, le=104)]


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


class Protocol(_Strict):
    """The settings of one club, all with defaults; see the protocol table of the API documentation."""

    knee_angle_tolerance_deg: Annotated[FiniteFloat, Field(ge=0, le=90)] = 5
    bar_height_tolerance: Annotated[FiniteFloat, Field(ge=0, le=1000)] = 0.5
    min_intended_percent: Annotated[FiniteFloat, Field(ge=0, le=120)] = 95
    min_hold_s: Annotated[FiniteFloat, Field(ge=0, le=600)] = 3
    max_hold_s: Annotated[FiniteFloat, Field(gt=0, le=600)] = 10
    min_rest_s: Annotated[FiniteFloat, Field(ge=0, le=3600)] = 20
    max_prior_hard_s: Annotated[FiniteFloat, Field(ge=0, le=36000)] = 90
    reps_standard: Annotated[int, Field(ge=1, le=60)] = 3
    value: Annotated[Value, Field(strict=False)] = Value.PEAK
    summary: Annotated[Summary, Field(strict=False)] = Summary.BEST
    side_gap_formula: Annotated[SideGapFormula, Field(strict=False)] = SideGapFormula.OF_STRONGER
    baseline: BaselineReadings | BaselineDates | BaselineWeeks = BaselineReadings()
    smallest_change_percent: Annotated[FiniteFloat, Field(gt=0, lt=100)] = 5
    pain_caution_score: Annotated[FiniteFloat, Field(ge=0, le=10)] = 1
    pain_stop_score: Annotated[FiniteFloat, Field(ge=0, le=10)] = 6
    overdue_days: Annotated[FiniteFloat, Field(gt=0, le=3650)] = 14
    instrument_check_days: Annotated[FiniteFloat, Field(gt=0, le=3650)] = 90
    false_calls_per_season: Annotated[FiniteFloat, Field(gt=0, le=40)] = 1.0
    trend: EngineOverrides = EngineOverrides()

    @model_validator(mode="after")
    def _holds_in_order(self) -> Self:
        if self.max_hold_s < self.min_hold_s:
            raise ValueError("max_hold_s is below min_hold_s")
        return self


