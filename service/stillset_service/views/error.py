"""The squad's own error as rows."""

from datetime import timedelta

from stillset_core.reliability import (
    MDC_90,
    MDC_95,
    Estimate,
    minimal_detectable_percent,
    percent_of,
    smallest_worthwhile_change,
)
from stillset_core.squad_error import WITHIN, ErrorFindings, SquadError
from stillset_service.views.spelling import Json

__all__ = ["error_json"]

_MEMBERS = (
    *("level", "typical_error", "typical_error_low", "typical_error_high"),
    *("cv_percent", "cv_low_percent", "cv_high_percent", "mean_change_percent"),
    *("mdc95_down_percent", "mdc95_up_percent", "mdc90_down_percent", "mdc90_up_percent"),
    *("smallest_worthwhile_percent", "icc", "icc_low", "icc_high"),
)


def error_json(error: SquadError) -> Json:
    """Give the error of one direction and side; what too few pairs cannot say is null."""
    group = error.group
    return {
        "instrument_kind": group.instrument_kind.value,
        "unit": group.quantity.value,
        "role": group.role,
        "direction": group.direction.value,
        "side": group.side.value,
        "athletes": error.athletes,
        "pairs": error.pairs,
        "within_days": WITHIN / timedelta(days=1),
        "assumed_cv_percent": error.assumed_percent,
        **(dict.fromkeys(_MEMBERS) if error.findings is None else _findings(error.findings)),
    }


def _findings(found: ErrorFindings) -> Json:
    cv, cv_low, cv_high = (percent_of(end) for end in (found.log_sd.value, found.log_sd.low, found.log_sd.high))
    down_95, up_95 = minimal_detectable_percent(found.log_sd.value, MDC_95)
    down_90, up_90 = minimal_detectable_percent(found.log_sd.value, MDC_90)
    between = found.between_log_sd
    smallest = None if between is None else percent_of(smallest_worthwhile_change(between))
    values = (
        *(found.level, *(found.level * percent / 100 for percent in (cv, cv_low, cv_high))),
        *(cv, cv_low, cv_high, found.mean_change_percent),
        *(down_95, up_95, down_90, up_90),
        *(smallest, *_ends(found.icc)),
    )
    return dict(zip(_MEMBERS, values, strict=True))


def _ends(estimate: Estimate | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if estimate is None else (estimate.value, estimate.low, estimate.high)
