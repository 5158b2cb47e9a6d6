"""Norms as rows, each with the athletes beside it and the outside references that may stand there."""

from stillset_core.norms import Beside, Measure, Norm, Percentile
from stillset_core.outside import OutsideReference, comparable
from stillset_service.views.spelling import Json, series_json

__all__ = ["PERCENTILES", "norm_json"]

PERCENTILES = ("p10", "p25", "median", "p75", "p90")


def norm_json(norm: Norm) -> Json:
    """Give how one measure is spread over a squad, or over one role of it."""
    unit = norm.series.quantity.value
    return {
        **series_json(norm.series),
        "role": norm.role,
        "measure": norm.measure.value,
        "measure_unit": _unit(norm.measure, unit),
        "direction": None if norm.direction is None else norm.direction.value,
        "side": None if norm.side is None else norm.side.value,
        "athletes": norm.athletes,
        **_percentiles(norm.percentiles),
        "each": [_beside(one) for one in norm.each],
        "outside_references": [_reference(one, unit) for one in comparable(norm.series, norm.measure, norm.direction)],
    }


def _unit(measure: Measure, of_series: str) -> str:
    return {Measure.LEVEL: of_series, Measure.LEVEL_PER_BODY_MASS: f"{of_series}/kg", Measure.RATIO: "1"}.get(
        measure, "%"
    )


def _percentiles(found: tuple[Percentile, ...]) -> Json:
    if not found:
        return {name: None for place in PERCENTILES for name in (place, f"{place}_low", f"{place}_high")}
    return {
        name: value
        for place, one in zip(PERCENTILES, found, strict=True)
        for name, value in ((place, one.value), (f"{place}_low", one.low), (f"{place}_high", one.high))
    }


def _beside(one: Beside) -> Json:
    return {
        "athlete": one.athlete,
        "value": one.value,
        "others": one.others,
        "others_median": one.others_median,
        "robust_z": one.robust_z,
    }


def _reference(one: OutsideReference, unit: str) -> Json:
    return {
        "value": one.value,
        "sd": one.sd,
        "measure_unit": _unit(one.measure, unit),
        "population": one.population.who,
        "sex": one.population.sex,
        "sport": one.population.sport,
        "athletes": one.population.athletes,
        "instrument_kind": one.instrument_kind.value,
        "position": one.position,
        "knee_angle_deg": one.knee_angle_deg,
        "source": one.publication.source,
        "caution": one.publication.caution,
        "tag": one.publication.tag.value,
    }
