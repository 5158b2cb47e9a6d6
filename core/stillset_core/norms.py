"""Norms: how a squad and its playing roles are spread, series by series.

They stand second to each athlete's own usual band (`stillset_core.balance`) and are no pass marks:
benchmarks do not travel between positions of the body, instruments, roles or sports. Bands are of the
estimated levels, so that each athlete's own uncertainty is part of their width.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

import numpy as np

from stillset_core.pipeline import AthleteState
from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.series import SeriesKey

__all__ = ["FEWEST_ATHLETES", "Measure", "Norm", "norms_of"]

FEWEST_ATHLETES = 5
"""Smaller groups have no band: it would say little, and give single athletes away."""
STALE = timedelta(weeks=8)
"""Athletes without a counting reading for this long are left out."""
QUANTILES = (0.10, 0.25, 0.50, 0.75, 0.90)


class Measure(StrEnum):
    """What is spread."""

    LEVEL = "level"
    RATIO = "ratio"
    SIDE_GAP = "side-gap"


@dataclass(frozen=True, slots=True)
class Norm:
    """Spread of one measure over a group of athletes.

    Attributes
    ----------
    series : SeriesKey
    role : str or None
        Playing role; None for the whole squad.
    measure : Measure
        Level in the unit of the series, ratio squeeze ÷ spread, or side gap in % of the club's formula.
    direction, side : Direction or None, Side or None
        None where the measure spans them.
    athletes : int
        How many there are.
    p10, p25, median, p75, p90 : float or None
        Quantiles with linear interpolation; None for fewer than five athletes.
    """

    series: SeriesKey
    role: str | None
    measure: Measure
    direction: Direction | None
    side: Side | None
    athletes: int
    p10: float | None = None
    p25: float | None = None
    median: float | None = None
    p75: float | None = None
    p90: float | None = None


_Kind = tuple[SeriesKey, Measure, Direction | None, Side | None]


def norms_of(states: Mapping[str, AthleteState], roles: Mapping[str, str | None]) -> tuple[Norm, ...]:
    """Spread of levels and balances over a squad and over each of its roles.

    Parameters
    ----------
    states : mapping of athlete ref to AthleteState
        All as of the same moment.
    roles : mapping of athlete ref to role
        None, or no entry, for an athlete without a role.

    Returns
    -------
    tuple of Norm
        For each series and measure the squad first, then the roles by name.
    """
    groups: defaultdict[_Kind, defaultdict[str | None, list[float]]] = defaultdict(lambda: defaultdict(list))
    for athlete, state in states.items():
        for kind, value in _values(state):
            groups[kind][None].append(value)
            role = roles.get(athlete)
            if role is not None:
                groups[kind][role].append(value)
    return tuple(
        _norm(kind, role, values)
        for kind, by_role in sorted(groups.items(), key=lambda group: _order(group[0]))
        for role, values in sorted(by_role.items(), key=lambda group: (group[0] is not None, group[0] or ""))
    )


def _values(state: AthleteState) -> Iterator[tuple[_Kind, float]]:
    """Every level, ratio and side gap of one athlete that is current."""
    for trend, balance in zip(state.trends, state.balances, strict=True):
        if trend.last_reading_at is None or state.as_of - trend.last_reading_at > STALE:
            continue
        found: list[tuple[Measure, Direction | None, Side | None, float | None]] = [
            *((Measure.LEVEL, at[0], at[1], trend.direction(at[0]).side(at[1]).level) for at in STRENGTHS),
            *((Measure.RATIO, None, side, balance.ratio(side).value) for side in Side),
            *((Measure.SIDE_GAP, direction, None, balance.gap(direction).percent) for direction in Direction),
        ]
        for measure, direction, side, value in found:
            if value is not None:
                yield (trend.key, measure, direction, side), value


def _order(kind: _Kind) -> tuple[str, float, str, str, int, int, int]:
    """Sort key: series by name, angle (unknown first), instrument and quantity, then measures as they are listed."""
    series, measure, direction, side = kind
    angle = -1.0 if series.knee_angle_deg is None else series.knee_angle_deg
    return (
        series.position,
        angle,
        series.instrument_kind.value,
        series.quantity.value,
        list(Measure).index(measure),
        -1 if direction is None else list(Direction).index(direction),
        -1 if side is None else list(Side).index(side),
    )


def _norm(kind: _Kind, role: str | None, values: list[float]) -> Norm:
    series, measure, direction, side = kind
    if len(values) < FEWEST_ATHLETES:
        return Norm(series, role, measure, direction, side, len(values))
    return Norm(series, role, measure, direction, side, len(values), *np.quantile(values, QUANTILES).tolist())
