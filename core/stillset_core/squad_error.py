"""The squad's own typical error, from its ordinary readings: no test-retest day is needed.

Two counting readings of one athlete, series, direction and side that lie in different sessions within a few
days differ by the error of both, and by the little that strength itself drifts. Of a session the first
reading is taken, and no reading is in two pairs. Pairs are made by time alone, never by value.

Everything is estimated on the log scale for a reading of the protocol's rep count, and pooled over positions
within a kind of instrument. Too few pairs or athletes give no figure.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f

from stillset_core.judging.outcome import Counted
from stillset_core.paired_error import Outliers, PairedError, Pairs, paired_error
from stillset_core.protocol import Protocol
from stillset_core.records import STRENGTHS, Direction, InstrumentKind, Quantity, Side
from stillset_core.reliability import TAIL, Estimate, percent_of, sd_with_interval
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend.parameters import Parameters, parameters_for
from stillset_core.trend.rows import noise_variance

__all__ = ["FEWEST_ATHLETES", "FEWEST_PAIRS", "WITHIN", "ErrorFindings", "ErrorGroup", "SquadError", "squad_errors"]

WITHIN = timedelta(days=7)
"""Longest time between the readings of a pair: common practice, no source."""
FEWEST_PAIRS = 5
FEWEST_ATHLETES = 3
LARGEST_OUTLIER_SHARE = 0.5
"""What most readings are is usual, whatever the overrides say."""
FEWEST_USUAL = 0.5
"""Athletes whose pairs are all outliers have no level to compare with those of others."""


@dataclass(frozen=True, slots=True)
class ErrorGroup:
    """What an error is of; ``role`` is None for the whole squad."""

    instrument_kind: InstrumentKind
    quantity: Quantity
    direction: Direction
    side: Side
    role: str | None


@dataclass(frozen=True, slots=True)
class ErrorFindings:
    """What the pairs of a group say.

    Attributes
    ----------
    log_sd : Estimate
        SD of one reading on the log scale, by n pairs.
    mean_change_percent : float
        From the earlier to the later reading of a pair; removed from the error.
    level : float
        Geometric mean of the readings, in SI.
    between_log_sd : float or None
        SD between athletes beside others in their position, net of error; None where there is none to be seen.
    icc : Estimate or None
        Share of the variance of a single reading that lies between athletes, by n athletes.
    """

    log_sd: Estimate
    mean_change_percent: float
    level: float
    between_log_sd: float | None
    icc: Estimate | None


@dataclass(frozen=True, slots=True)
class SquadError:
    """Typical error of one group.

    Attributes
    ----------
    group : ErrorGroup
    athletes, pairs : int
        How many there are.
    assumed_percent : float
        What the trend takes for granted, as a coefficient of variation in %.
    findings : ErrorFindings or None
        None below `FEWEST_PAIRS` pairs or `FEWEST_ATHLETES` athletes, and where the readings differ no more
        than by drift.
    """

    group: ErrorGroup
    athletes: int
    pairs: int
    assumed_percent: float
    findings: ErrorFindings | None


@dataclass(frozen=True, slots=True)
class _Value:
    """One side of a counting reading: log of the adjusted value, and the maximal reps behind it."""

    at: datetime
    session: int
    log_value: float
    reps: int


@dataclass(frozen=True, slots=True)
class _Pair:
    athlete: str
    series: SeriesKey
    first: _Value
    second: _Value

    @property
    def days(self) -> float:
        return (self.second.at - self.first.at) / timedelta(days=1)


def squad_errors(
    readings: Mapping[str, Sequence[Reading]], roles: Mapping[str, str | None], protocol: Protocol
) -> tuple[SquadError, ...]:
    """Estimate the error of a squad and of its roles.

    Parameters
    ----------
    readings : mapping of athlete ref to sequence of Reading
        In the order of the engine; bounds are left out.
    roles : mapping of athlete ref to role
        None, or no entry, for an athlete without a role.
    protocol : Protocol
        Gives rep count, summary and, where overridden, the engine's drift and share of outliers.

    Returns
    -------
    tuple of SquadError
        For each kind of instrument, quantity, direction and side with a pair: the squad first, then roles by name.
    """
    groups: defaultdict[ErrorGroup, list[_Pair]] = defaultdict(list)
    for athlete in sorted(readings):
        role = roles.get(athlete)
        for (series, direction, side), values in _by_strength(readings[athlete]).items():
            for pair in _pairs(athlete, series, values):
                for of in (None,) if role is None else (None, role):
                    groups[ErrorGroup(series.instrument_kind, series.quantity, direction, side, of)].append(pair)
    return tuple(_error(group, groups[group], protocol) for group in sorted(groups, key=_order))


def _by_strength(readings: Iterable[Reading]) -> dict[tuple[SeriesKey, Direction, Side], list[_Value]]:
    """Part the counting readings of an athlete by series, direction and side; one of each session, the first."""
    parted: defaultdict[tuple[SeriesKey, Direction, Side], dict[int, _Value]] = defaultdict(dict)
    for reading in readings:
        counted = reading.value
        if not isinstance(counted, Counted):
            continue
        for side, value, reps in (
            (Side.LEFT, counted.adjusted_left, counted.reps_left),
            (Side.RIGHT, counted.adjusted_right, counted.reps_right),
        ):
            if value is not None and value > 0:
                taken = _Value(reading.performed_at, reading.session, math.log(value), reps)
                parted[reading.series, reading.direction, side].setdefault(reading.session, taken)
    return {strength: list(values.values()) for strength, values in parted.items()}


def _pairs(athlete: str, series: SeriesKey, values: Sequence[_Value]) -> Iterator[_Pair]:
    """Pair each reading with the next if that is near; both are used up."""
    place = 0
    while place + 1 < len(values):
        first, second = values[place : place + 2]
        near = second.at - first.at <= WITHIN
        if near:
            yield _Pair(athlete, series, first, second)
        place += 2 if near else 1


def _order(group: ErrorGroup) -> tuple[str, str, int, bool, str]:
    strength = STRENGTHS.index((group.direction, group.side))
    return (group.instrument_kind.value, group.quantity.value, strength, group.role is not None, group.role or "")


def _error(group: ErrorGroup, pairs: Sequence[_Pair], protocol: Protocol) -> SquadError:
    parameters = parameters_for(protocol, group.quantity)
    athletes = len({pair.athlete for pair in pairs})
    assumed = percent_of(math.sqrt(_reading_variance(parameters.reps_standard, parameters)))
    enough = len(pairs) >= FEWEST_PAIRS and athletes >= FEWEST_ATHLETES
    return SquadError(group, athletes, len(pairs), assumed, _findings(pairs, parameters) if enough else None)


def _reading_variance(reps: int, parameters: Parameters) -> float:
    """Variance that the engine gives one reading between sessions, at noise scale 1."""
    return noise_variance(reps, parameters) + parameters.session_sd**2


def _findings(pairs: Sequence[_Pair], parameters: Parameters) -> ErrorFindings | None:
    whose = {athlete: place for place, athlete in enumerate(sorted({pair.athlete for pair in pairs}))}
    standard = _reading_variance(parameters.reps_standard, parameters)
    noise = [
        (_reading_variance(pair.first.reps, parameters) + _reading_variance(pair.second.reps, parameters)) / standard
        for pair in pairs
    ]
    error = paired_error(
        Pairs(
            difference=np.array([pair.second.log_value - pair.first.log_value for pair in pairs]),
            noise=np.array(noise),
            drift=np.array([parameters.drift_per_sqrt_day**2 * pair.days for pair in pairs]),
            athlete=np.array([whose[pair.athlete] for pair in pairs]),
        ),
        Outliers(min(parameters.outlier_share, LARGEST_OUTLIER_SHARE), parameters.outlier_sd),
    )
    if error is None:
        return None
    middle = np.array([(pair.first.log_value + pair.second.log_value) / 2 for pair in pairs])
    between, icc = _between(pairs, middle, error)
    return ErrorFindings(
        log_sd=sd_with_interval(error.log_sd, error.degrees_of_freedom, len(pairs)),
        mean_change_percent=percent_of(error.mean_change),
        level=math.exp(float(np.average(middle, weights=error.usual))),
        between_log_sd=between,
        icc=icc,
    )


def _between(
    pairs: Sequence[_Pair], middle: NDArray[np.float64], error: PairedError
) -> tuple[float | None, Estimate | None]:
    """SD between athletes net of error, and the one-way ICC of a single reading.

    The variance of the athletes' means around the mean of their series over that of one reading is compared
    with F, as if each mean were of the harmonic mean number of readings.

    References
    ----------
    Thomas & Hultquist 1978, Ann Stat 6:582-587 (from memory): variance components of unequal groups.
    """
    places: defaultdict[tuple[SeriesKey, str], list[int]] = defaultdict(list)
    for place, pair in enumerate(pairs):
        places[pair.series, pair.athlete].append(place)
    means: defaultdict[SeriesKey, list[float]] = defaultdict(list)
    readings: list[float] = []
    for (series, _), taken in places.items():
        usual = error.usual[taken]
        if usual.sum() >= FEWEST_USUAL:
            means[series].append(float(np.average(middle[taken], weights=usual)))
            readings.append(2 * float(usual.sum()))
    df = sum(len(of_series) - 1 for of_series in means.values())
    if df < FEWEST_ATHLETES - 1:
        return None, None
    squares = math.fsum(float(np.var(of_series)) * len(of_series) for of_series in means.values())
    number = len(readings) / math.fsum(1 / count for count in readings)
    ratio = squares / df / error.log_sd**2
    dfs = (df, error.degrees_of_freedom)
    over = (ratio, ratio / float(f.isf(TAIL, *dfs)), ratio * float(f.isf(TAIL, *reversed(dfs))))
    # Variance between athletes over that of the error; never below none.
    shares = [max(one - 1 / number, 0.0) for one in over]
    value, low, high = (share / (1 + share) for share in shares)
    icc = Estimate(value, low, high, len({pair.athlete for pair in pairs}))
    return (math.sqrt(shares[0]) * error.log_sd if shares[0] > 0 else None), icc
