"""From the derived state of an athlete to the rows that the charts of one series show.

Times are epoch milliseconds of the local wall time at which a set was done, so that a point stands
on the date that the athlete would name, wherever the page is read.
"""

from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import NamedTuple

from stillset_core.judged import JudgedSet
from stillset_core.judging.outcome import Counted, DirectionOutcome, Standing
from stillset_core.judging.plausibility import HIGHEST_PEAK
from stillset_core.numbers import number
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol
from stillset_core.records import STRENGTHS, Direction, Quantity, Side
from stillset_core.trend import SeriesTrend, level_of
from stillset_service.books import PeriodFacts
from stillset_service.pages import addresses
from stillset_service.pages.chart_context import Row, load_rows, pain_rows, period_rows, wall_time
from stillset_service.pages.chart_spec import ChartData
from stillset_service.pages.wording import day_words, plural, standing_words, unit_symbol

__all__ = ["SPANS", "chart_data", "mark_of"]

Range = tuple[float, float]
SPANS = {"all": None, "26w": 26, "12w": 12}
"""Stretches of time a reader can choose, in weeks; None is everything."""
ROOM = 0.04
"""Room left above and below what is drawn, as a share."""


class Mark(NamedTuple):
    """One value of one set as a mark: what it is worth, in the unit that the chart reads."""

    side: Side
    value: float


def chart_data(
    state: AthleteState, trend: SeriesTrend, periods: Iterable[PeriodFacts], protocol: Protocol, span: str
) -> ChartData:
    """Gather what the charts of one series show.

    Parameters
    ----------
    state : AthleteState
    trend : SeriesTrend
        One of the state's series.
    periods : iterable of PeriodFacts
        Shaded behind the curves.
    protocol : Protocol
        For the pain score at which the protocol says stop.
    span : str
        A key of `SPANS`.
    """
    rows: dict[str, list[Row]] = {"pain": pain_rows(state), "load": load_rows(state)}
    for direction in Direction:
        name = direction.value
        rows[f"{name}_levels"] = list(_levels(trend, direction))
        rows[f"{name}_baseline"] = list(_baselines(trend, direction))
        rows[f"{name}_calls"] = list(_calls(trend, direction))
        for standing in Standing:
            rows[f"{name}_{standing.value}"] = []
    for judged in state.judged:
        if _belongs(judged, trend):
            for outcome in judged.outcome:
                rows[f"{outcome.direction.value}_{outcome.standing.value}"] += _marks(judged, outcome)
    shown = _span(state, SPANS[span])
    rows["shades"], rows["bars"] = period_rows(periods, shown)
    rows = {name: [row for row in found if _is_shown(row, name, shown[0])] for name, found in rows.items()}
    highest = HIGHEST_PEAK[trend.key.quantity] * _scale(trend.key.quantity)
    return ChartData(
        rows=rows,
        span=shown,
        force=_force_ranges(rows, highest),
        unit=unit_symbol(trend.key.quantity),
        stop=protocol.pain_stop_score,
    )


def mark_of(judged: JudgedSet, outcome: DirectionOutcome) -> list[Mark]:
    """Values of one direction of one set, by side: the reading, or the best peak of a set that was set aside."""
    scale = _scale(judged.record.quantity)
    if isinstance(outcome.reading, Counted):
        values = (outcome.reading.adjusted_left, outcome.reading.adjusted_right)
    elif outcome.reading is not None:
        values = (outcome.reading.left, outcome.reading.right)
    else:
        reps = [rep for rep in judged.record.reps if rep.direction is outcome.direction]
        values = (
            max((rep.left.peak for rep in reps if rep.left), default=None),
            max((rep.right.peak for rep in reps if rep.right), default=None),
        )
    return [Mark(side, value * scale) for side, value in zip(Side, values, strict=True) if value is not None]


def _belongs(judged: JudgedSet, trend: SeriesTrend) -> bool:
    """Whether a set is shown with a series; one that was set aside has a series too."""
    return judged.series == trend.key


def _marks(judged: JudgedSet, outcome: DirectionOutcome) -> Iterator[Row]:
    for side, value in mark_of(judged, outcome):
        yield {
            "at": wall_time(judged.record.performed_at),
            "side": side.value,
            "value": value,
            "say": _say(judged, outcome, side, value),
            "part": addresses.set_part(judged.record.client_ref),
        }


def _say(judged: JudgedSet, outcome: DirectionOutcome, side: Side, value: float) -> str:
    unit = judged.record.quantity
    about = f"{day_words(judged.record.performed_at)}, {outcome.direction.value} {side.value}"
    lines = [
        f"{about}: {standing_words(outcome.standing)}",
        number(value / _scale(unit), unit.value) + _adjusted(outcome),
        *(reason.text for reason in outcome.reasons),
        *(f"Caution: {caution.text}" for caution in outcome.cautions),
    ]
    return "\n".join(lines)


def _adjusted(outcome: DirectionOutcome) -> str:
    if outcome.standing is Standing.AT_LEAST:
        return " or more"
    if not isinstance(outcome.reading, Counted):
        return " at best, not a strength value"
    return f", from {plural(outcome.reading.maximal_reps, 'maximal rep')}, brought to the number of the protocol"


def _levels(trend: SeriesTrend, direction: Direction) -> Iterator[Row]:
    """Smoothed levels of both sides from the first counting reading of each, and where they stand now."""
    scale = _scale(trend.key.quantity)
    smoothed = trend.history
    for side in Side:
        column = STRENGTHS.index((direction, side))
        points = [
            (at, float(smoothed.mean[t, column]), float(smoothed.covariance[t, column, column]))
            for t, at in enumerate(smoothed.at)
            if smoothed.seen[t, column]
        ]
        if not points:
            continue
        now = (
            trend.as_of.astimezone(points[-1][0].tzinfo),
            float(trend.mean[column]),
            float(trend.covariance[column, column]),
        )
        for at, mean, variance in [*points, now]:
            level = level_of(mean, variance)
            yield {
                "at": wall_time(at),
                "side": side.value,
                "level": level.level * scale,
                "low": level.low * scale,
                "high": level.high * scale,
            }


def _baselines(trend: SeriesTrend, direction: Direction) -> Iterator[Row]:
    unit = trend.key.quantity
    for side in Side:
        baseline = trend.direction(direction).side(side).baseline
        if baseline is not None:
            say = f"{direction.value.capitalize()} {side.value}: baseline {number(baseline, unit.value)}"
            yield {"level": baseline * _scale(unit), "side": side.value, "say": say}


def _calls(trend: SeriesTrend, direction: Direction) -> Iterator[Row]:
    for call in trend.calls:
        if call.direction is direction:
            side = "both sides" if call.side is None else f"mostly {call.side.value}"
            yield {"at": wall_time(call.at), "say": f"{day_words(call.at)}: a decline was called here, {side}"}


def _span(state: AthleteState, weeks: int | None) -> tuple[float, float]:
    """First and last moment shown."""
    end = wall_time(state.as_of)
    if weeks is not None:
        return end - timedelta(weeks=weeks).total_seconds() * 1000, end
    first = min((wall_time(judged.record.performed_at) for judged in state.judged), default=end)
    least = timedelta(days=14).total_seconds() * 1000
    return min(first - least / 7, end - least), end


def _is_shown(row: Row, name: str, start: float) -> bool:
    return "at" not in row or _number(row["at"]) >= start - _slack(name)


def _slack(name: str) -> float:
    """How far before the first moment rows are kept, ms: a curve must come in from outside the frame."""
    return timedelta(weeks=6).total_seconds() * 1000 if name.endswith("_levels") or name == "load" else 0.0


def _force_ranges(rows: dict[str, list[Row]], highest: float) -> dict[str, Range]:
    """Ranges of both directions; a direction without any value borrows that of the other."""
    found = {direction.value: _force_range(rows, direction, highest) for direction in Direction}
    any_range = next((one for one in found.values() if one is not None), (0.0, 1.0))
    return {name: one or any_range for name, one in found.items()}


def _force_range(rows: dict[str, list[Row]], direction: Direction, highest: float) -> Range | None:
    """Lowest and highest value drawn, None where nothing is: what counts, bounds and the curve.

    Marks set aside may lie on the edge. Nothing above ``highest`` is taken for real, so it stretches no axis.
    """
    name = direction.value
    marks = [_number(row["value"]) for standing in ("counts", "at_least") for row in rows[f"{name}_{standing}"]]
    curve = [_number(row["level"]) for row in (*rows[f"{name}_levels"], *rows[f"{name}_baseline"])]
    set_aside = [min(_number(row["value"]), highest) for row in rows[f"{name}_set_aside"]]
    marks = marks + curve or set_aside
    if not marks:
        return None
    low, high = min(marks), max(marks)
    bands = rows[f"{name}_levels"]
    low = min([low, *(max(_number(row["low"]), 0.85 * low) for row in bands)])
    high = max([high, *(min(_number(row["high"]), 1.15 * high) for row in bands)])
    return low * (1 - ROOM), high * (1 + ROOM)


def _scale(quantity: Quantity) -> float:
    """From SI to the unit on the page."""
    return 1e-3 if quantity is Quantity.PRESSURE else 1.0


def _number(value: object) -> float:
    if not isinstance(value, float | int):
        raise TypeError("A drawn value is a number.")
    return float(value)
