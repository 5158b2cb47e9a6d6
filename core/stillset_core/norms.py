"""Norms: how a squad and its playing roles are spread, series by series.

They stand second to each athlete's own usual band (`stillset_core.balance`) and are no pass marks:
benchmarks do not travel between positions of the body, instruments, roles or sports. Bands are of the
estimated levels, so that each athlete's own uncertainty is part of their width. An athlete is held against
the others of a group, never against a norm that they are part of.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from stillset_core.order_statistics import quantile_ranks
from stillset_core.outside import Measure
from stillset_core.pipeline import AthleteState
from stillset_core.records import STRENGTHS, Direction, Quantity, Side
from stillset_core.series import SeriesKey

__all__ = ["FEWEST_ATHLETES", "QUANTILES", "Beside", "Measure", "Norm", "Percentile", "norms_of", "robust_z"]

FEWEST_ATHLETES = 5
"""Smaller groups have no band: it would say little, and give single athletes away."""
STALE = timedelta(weeks=8)
"""Athletes without a counting reading for this long are left out."""
BODY_MASS_STALE = timedelta(weeks=26)
"""A body mass stated longer ago is not used: common practice, no source."""
QUANTILES = (0.10, 0.25, 0.50, 0.75, 0.90)
NORMAL_MAD = 1.482602218505602
"""1 ÷ Φ⁻¹(¾): the median absolute deviation of a normal distribution times this is its SD."""


@dataclass(frozen=True, slots=True)
class Percentile:
    """A sample quantile with its 95 % interval by order statistics; None for an end that the sample does not bound."""

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Beside:
    """One athlete beside the others of a group.

    Attributes
    ----------
    athlete : str
    value : float
    others : int
        How many the others are.
    others_median : float or None
        None for fewer than five others.
    robust_z : float or None
        (value − median) ÷ (1.4826 × median absolute deviation) of the others; None for fewer than five others, and
        where at least half of them are alike.
    """

    athlete: str
    value: float
    others: int
    others_median: float | None = None
    robust_z: float | None = None


@dataclass(frozen=True, slots=True)
class Norm:
    """Spread of one measure over a group of athletes.

    Attributes
    ----------
    series : SeriesKey
    role : str or None
        Playing role; None for the whole squad.
    measure : Measure
        Level in the unit of the series, the same per kg of body mass, ratio squeeze ÷ spread, or side gap in % of
        the club's formula.
    direction, side : Direction or None, Side or None
        None where the measure spans them.
    athletes : int
        How many there are.
    percentiles : tuple of Percentile
        At `QUANTILES`, with linear interpolation; empty for fewer than five athletes.
    each : tuple of Beside
        Every athlete of the group by ref; empty for fewer than five athletes.
    """

    series: SeriesKey
    role: str | None
    measure: Measure
    direction: Direction | None
    side: Side | None
    athletes: int
    percentiles: tuple[Percentile, ...] = ()
    each: tuple[Beside, ...] = ()


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
    groups: defaultdict[_Kind, defaultdict[str | None, dict[str, float]]] = defaultdict(lambda: defaultdict(dict))
    for athlete, state in states.items():
        for kind, value in _values(state):
            groups[kind][None][athlete] = value
            role = roles.get(athlete)
            if role is not None:
                groups[kind][role][athlete] = value
    return tuple(
        _norm(kind, role, values)
        for kind, by_role in sorted(groups.items(), key=lambda group: _order(group[0]))
        for role, values in sorted(by_role.items(), key=lambda group: (group[0] is not None, group[0] or ""))
    )


def robust_z(value: float, others: Sequence[float]) -> float | None:
    """How far a value lies from the median of others, in their median absolute deviations scaled to an SD.

    Parameters
    ----------
    value : float
    others : sequence of float

    Returns
    -------
    float or None
        None for fewer than five others, and where at least half of them are alike.

    References
    ----------
    Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers (from memory): the modified z-score, which
    writes 0.6745 for 1 ÷ 1.4826.
    """
    if len(others) < FEWEST_ATHLETES:
        return None
    middle = float(np.median(others))
    spread = NORMAL_MAD * float(np.median(np.abs(np.array(others) - middle)))
    return (value - middle) / spread if spread > 0 else None


def _values(state: AthleteState) -> Iterator[tuple[_Kind, float]]:
    """Every level, ratio and side gap of one athlete that is current."""
    body_mass = _body_mass_kg(state)
    for trend, balance in zip(state.trends, state.balances, strict=True):
        if trend.last_reading_at is None or state.as_of - trend.last_reading_at > STALE:
            continue
        levels = [(*at, trend.direction(at[0]).side(at[1]).level) for at in STRENGTHS]
        found: list[tuple[Measure, Direction | None, Side | None, float | None]] = [
            *((Measure.LEVEL, *level) for level in levels),
            *((Measure.RATIO, None, side, balance.ratio(side).value) for side in Side),
            *((Measure.SIDE_GAP, direction, None, balance.gap(direction).percent) for direction in Direction),
        ]
        # A pressure per body mass means nothing.
        if body_mass is not None and trend.key.quantity is not Quantity.PRESSURE:
            found += [
                (Measure.LEVEL_PER_BODY_MASS, direction, side, level / body_mass)
                for direction, side, level in levels
                if level is not None
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


def _body_mass_kg(state: AthleteState) -> float | None:
    """Body mass that was stated last, if not too long ago."""
    stated = (one.record for one in reversed(state.judged) if one.record.body_mass_kg is not None)
    last = next(stated, None)
    return None if last is None or state.as_of - last.performed_at > BODY_MASS_STALE else last.body_mass_kg


def _norm(kind: _Kind, role: str | None, values: Mapping[str, float]) -> Norm:
    series, measure, direction, side = kind
    if len(values) < FEWEST_ATHLETES:
        return Norm(series, role, measure, direction, side, len(values))
    ranked = sorted(values.values())
    percentiles = tuple(_percentile(ranked, share) for share in QUANTILES)
    each = tuple(_beside(athlete, values) for athlete in sorted(values))
    return Norm(series, role, measure, direction, side, len(values), percentiles, each)


def _percentile(ranked: Sequence[float], share: float) -> Percentile:
    lower, upper = quantile_ranks(len(ranked), share)
    return Percentile(
        float(np.quantile(ranked, share)),
        None if lower is None else ranked[lower - 1],
        None if upper is None else ranked[upper - 1],
    )


def _beside(athlete: str, values: Mapping[str, float]) -> Beside:
    others = [value for other, value in values.items() if other != athlete]
    median = float(np.median(others)) if len(others) >= FEWEST_ATHLETES else None
    return Beside(athlete, values[athlete], len(others), median, robust_z(values[athlete], others))
