"""Views that are no tables, as rows: one for each side or direction of what they show, or for each point in time."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields

from stillset_core.records import Side
from stillset_core.trace.measures import SideMeasures
from stillset_service.api.formats import flags, lists, reals, texts, wholes
from stillset_service.views.spelling import Json

__all__ = [
    "BALANCE_COLUMNS",
    "HISTORY_COLUMNS",
    "LEVEL_COLUMNS",
    "TRACE_COLUMNS",
    "TREND_COLUMNS",
    "balance_rows",
    "history_rows",
    "trace_rows",
    "trend_rows",
]

SERIES_COLUMNS = (
    *texts("position.name"),
    *reals("position.knee_angle_deg"),
    *texts("instrument_kind", "unit"),
)
LEVEL_COLUMNS = (
    *reals("level", "low", "high", "weekly_percent", "change_percent", "change_low", "change_high"),
    *reals("probability_below", "probability_above"),
    *texts("state"),
    *reals("at_least"),
    *wholes("readings"),
    *reals("baseline"),
)
TREND_COLUMNS = (*texts("as_of"), *SERIES_COLUMNS, *texts("direction", "side"), *LEVEL_COLUMNS)
HISTORY_COLUMNS = (
    *texts("as_of"),
    *SERIES_COLUMNS,
    *texts("direction", "side", "at"),
    *reals("level", "low", "high"),
)
BALANCE_COLUMNS = (
    *texts("as_of"),
    *SERIES_COLUMNS,
    *texts("of", "direction", "side"),
    *reals("value", "percent", "low", "high"),
    *texts("formula", "stronger"),
    *flags("beyond_noise"),
    *reals("consistent_percent"),
    *wholes("consistent_sessions"),
    *texts("in_words"),
    *reals("usual_low", "usual_high"),
    *texts("state"),
)
TRACE_COLUMNS = (
    *wholes("rep"),
    *texts("direction", "side", "unit"),
    *reals("rate_hz", "cutoff_hz", "started_s"),
    *reals(*(member.name for member in fields(SideMeasures))),
    *lists("findings"),
)


def trend_rows(trend: Json) -> Iterator[Json]:
    """Give one row for each series, direction and side."""
    for series, direction, side, level in _sides(trend):
        yield {**series, "direction": direction, "side": side, **level}


def history_rows(trend: Json) -> Iterator[Json]:
    """Give one row for each point of the history of each series, direction and side."""
    for series, direction, side, level in _sides(trend):
        for point in _objects(level["history"]):
            yield {**series, "direction": direction, "side": side, **point}


def balance_rows(balance: Json) -> Iterator[Json]:
    """Give one row for each ratio and each side gap of each series."""
    for series in _objects(balance["series"]):
        head = _head(balance, series)
        for side, ratio in _members(series["ratio"]):
            yield {**head, "of": "ratio", "side": side, **ratio}
        for direction, gap in _members(series["side_gap"]):
            yield {**head, "of": "side_gap", "direction": direction, **gap}


def trace_rows(trace: Json) -> Iterator[Json]:
    """Give one row for each side of each rep, reps numbered from 1, with its own findings."""
    head = {name: trace[name] for name in ("unit", "rate_hz", "cutoff_hz")}
    for number, rep in enumerate(_objects(trace["reps"]), start=1):
        for side in Side:
            measures = rep[side.value]
            if isinstance(measures, Mapping):
                findings = [finding for finding in _objects(rep["findings"]) if finding["side"] == side]
                of_rep = {"rep": number, "direction": rep["direction"], "started_s": rep["started_s"]}
                yield {**head, **of_rep, "side": side.value, **measures, "findings": findings}


def _sides(trend: Json) -> Iterator[tuple[Json, str, str, Mapping[str, object]]]:
    for series in _objects(trend["series"]):
        for direction in ("squeeze", "spread"):
            for side, level in _members(series[direction]):
                yield _head(trend, series), direction, side, level


def _head(whole: Json, series: Mapping[str, object]) -> Json:
    return {"as_of": whole["as_of"], **{name: series[name] for name in ("position", "instrument_kind", "unit")}}


def _objects(value: object) -> Iterable[Mapping[str, object]]:
    return value if isinstance(value, Sequence) else ()


def _members(value: object) -> Iterable[tuple[str, Mapping[str, object]]]:
    return value.items() if isinstance(value, Mapping) else ()
