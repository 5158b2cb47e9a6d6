"""The filter: readings in, moments of the levels out. No dates, no names, no units.

One step lets the levels drift, begins a session where one begins, and absorbs the reading. The clones
of the baseline, where the state has room for them, ride along and stay jointly exact.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillset_core.trend.bounds import bound_gain
from stillset_core.trend.compiled import compiled
from stillset_core.trend.observation import Pair, Triple, counting_gain
from stillset_core.trend.parameters import Model, Parameters
from stillset_core.trend.rows import Rows
from stillset_core.trend.transition import (
    CLONED_SIZE,
    LEVELS,
    SESSION,
    SIZE,
    clone_levels,
    copy_moments,
    drift,
    forget_session,
    start,
)

__all__ = ["NO_CLONES", "Clones", "FilterRun", "absorb", "filter_readings", "log_likelihood_of"]


class Clones(NamedTuple):
    """When the levels of squeeze and spread are cloned.

    Attributes
    ----------
    after : (2,) int array
        Number of readings absorbed before the clone is taken; -1 for never.
    day : (2,) array
        Day at which it is taken.
    """

    after: NDArray[np.int64]
    day: NDArray[np.float64]


NO_CLONES = Clones(np.full(2, -1, dtype=np.int64), np.zeros(2))


class FilterRun(NamedTuple):
    """What the filter knows.

    Attributes
    ----------
    log_likelihood : float
    mean, covariance : (R, 4) and (R, 4, 4) array
        Moments of the levels right after each reading.
    end_mean, end_covariance : (9,) and (9, 9) array
        Moments of levels, session effect and clones at the end.
    """

    log_likelihood: float
    mean: NDArray[np.float64]
    covariance: NDArray[np.float64]
    end_mean: NDArray[np.float64]
    end_covariance: NDArray[np.float64]


def filter_readings(rows: Rows, parameters: Parameters, model: Model, clones: Clones, end_day: float) -> FilterRun:
    """Filter all readings and carry the moments to `end_day`.

    Parameters
    ----------
    rows : Rows
    parameters : Parameters
        For the start.
    model : Model
    clones : Clones
    end_day : float
        Days since the first reading; not before the last.

    Returns
    -------
    FilterRun
    """
    mean, covariance = start(parameters, CLONED_SIZE)
    log_likelihood, means, covariances = _run(mean, covariance, rows, clones, end_day, model)
    return FilterRun(log_likelihood, means, covariances, mean, covariance)


def log_likelihood_of(rows: Rows, parameters: Parameters, model: Model) -> float:
    """Log likelihood of the readings under a model."""
    mean, covariance = start(parameters, SIZE)
    end_day = float(rows.day[-1])
    return _run(mean, covariance, rows, NO_CLONES, end_day, model)[0]


@compiled
def _apply(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    first: int,
    gain: Pair,
    shrink: Triple,
    work: NDArray[np.float64],
) -> None:
    """Add U g to the mean and take U A U' from the covariance, in place; U' is laid in rows 1 and 2 of `work`."""
    for j in range(mean.size):
        work[1, j] = covariance[j, first] + covariance[j, SESSION]
        work[2, j] = covariance[j, first + 1] + covariance[j, SESSION]
    for j in range(mean.size):
        mean[j] += work[1, j] * gain[0] + work[2, j] * gain[1]
        by_left = work[1, j] * shrink[0] + work[2, j] * shrink[2]
        by_right = work[1, j] * shrink[2] + work[2, j] * shrink[1]
        for k in range(j + 1):
            covariance[j, k] -= by_left * work[1, k] + by_right * work[2, k]
            covariance[k, j] = covariance[j, k]


@compiled
def _selected(covariance: NDArray[np.float64], level: int, other: int) -> float:
    """Covariance of level plus session effect between two sides (or variance, of one)."""
    with_session = covariance[level, SESSION] + covariance[other, SESSION]
    selected: float = covariance[level, other] + with_session + covariance[SESSION, SESSION]
    return selected


@compiled
def absorb(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    rows: Rows,
    i: int,
    work: NDArray[np.float64],
    model: Model,
) -> float:
    """Absorb reading `i`, in place; return its log likelihood.

    `work` is a (3, S) array for state size S. Row 0 begins with what is taken from the reading for each of the four
    levels. The others are room: arrays made anew for each reading would cost a third of the time.
    """
    first = rows.first[i]
    if rows.counts[i]:
        left = rows.log_value[i, 0] - work[0, first] - mean[first] - mean[SESSION]
        right = rows.log_value[i, 1] - work[0, first + 1] - mean[first + 1] - mean[SESSION]
        prior = (
            _selected(covariance, first, first),
            _selected(covariance, first + 1, first + 1),
            _selected(covariance, first, first + 1),
        )
        scale = model.noise_scale
        noise = (scale * rows.noise[i, 0], scale * rows.noise[i, 1], scale * rows.noise[i, 2])
        measured = (rows.measured[i, 0], rows.measured[i, 1])
        log_likelihood, gain, shrink = counting_gain(prior, noise, (left, right), measured, model)
        _apply(mean, covariance, first, gain, shrink, work)
        return log_likelihood
    log_likelihood = 0.0
    for side in range(2):
        if rows.measured[i, side]:
            level = first + side
            bound = rows.log_value[i, side] - work[0, level] - model.bound_margin
            above = mean[level] + mean[SESSION] - bound
            log_side, gain_side, shrink_side = bound_gain(_selected(covariance, level, level), above, model)
            is_left = 1.0 - side
            _apply(
                mean,
                covariance,
                first,
                (gain_side * is_left, gain_side * side),
                (shrink_side * is_left, shrink_side * side, 0.0),
                work,
            )
            log_likelihood += log_side
    return log_likelihood


@compiled
def _run(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    rows: Rows,
    clones: Clones,
    end_day: float,
    model: Model,
) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Filter from the given moments, in place, to the end; return likelihood and moments after each reading."""
    count = rows.day.size
    means = np.empty((count, LEVELS))
    covariances = np.empty((count, LEVELS, LEVELS))
    unshifted = np.zeros((3, mean.size))
    log_likelihood = 0.0
    day = 0.0
    for i in range(count + 1):
        for direction in range(2):
            if clones.after[direction] == i:
                drift(covariance, clones.day[direction] - day, model)
                day = clones.day[direction]
                clone_levels(mean, covariance, 2 * direction)
        if i < count:
            drift(covariance, rows.day[i] - day, model)
            day = rows.day[i]
            if rows.fresh[i]:
                forget_session(mean, covariance, model)
            log_likelihood += absorb(mean, covariance, rows, i, unshifted, model)
            copy_moments(mean, covariance, means[i], covariances[i])
    drift(covariance, end_day - day, model)
    return log_likelihood, means, covariances
