"""The smoother: what is known today about the levels of earlier days.

The fixed-interval smoother of Rauch and others (1965, AIAA Journal 3, 1445-1450; from memory).
Works on the levels alone: a session's effect is forgotten when it ends, so nothing of it passes on.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillset_core.trend.compiled import compiled
from stillset_core.trend.parameters import Model
from stillset_core.trend.transition import LEVELS, copy_moments, drift

__all__ = ["Moments", "moments_between", "smooth"]


SMALLEST_PIVOT = 1e-15
"""Share of a variance that is left at least when the other levels are known: rounding must not make it negative."""


class Moments(NamedTuple):
    """Moments of the levels at ``T`` days: day (T,), mean (T, 4), covariance (T, 4, 4)."""

    day: NDArray[np.float64]
    mean: NDArray[np.float64]
    covariance: NDArray[np.float64]


def smooth(filtered: Moments, model: Model) -> Moments:
    """Smoothed moments at the days of the filtered ones; the last are equal."""
    mean, covariance = filtered.mean.copy(), filtered.covariance.copy()
    _smooth(filtered.day, mean, covariance, model)
    return Moments(filtered.day, mean, covariance)


def moments_between(filtered: Moments, smoothed: Moments, day: float, model: Model) -> NDArray[np.float64]:
    """Smoothed mean (4,) at a day without observation, not before the first of the days given."""
    before = int(np.searchsorted(filtered.day, day, side="right")) - 1
    if before == filtered.day.size - 1:
        last: NDArray[np.float64] = smoothed.mean[-1]
        return last
    here = filtered.covariance[before].copy()
    drift(here, day - filtered.day[before], model)
    pair = Moments(
        np.array([day, filtered.day[before + 1]]),
        np.stack([filtered.mean[before], smoothed.mean[before + 1]]),
        np.stack([here, smoothed.covariance[before + 1]]),
    )
    between: NDArray[np.float64] = smooth(pair, model).mean[0]
    return between


@compiled
def _factorise(matrix: NDArray[np.float64]) -> None:
    """Cholesky's lower factor of a covariance, in place of its lower half."""
    for j in range(LEVELS):
        for k in range(j + 1):
            rest = matrix[j, k]
            for a in range(k):
                rest -= matrix[j, a] * matrix[k, a]
            matrix[j, k] = math.sqrt(max(rest, SMALLEST_PIVOT * matrix[j, j])) if j == k else rest / matrix[k, k]


@compiled
def _divide(above: NDArray[np.float64], below: NDArray[np.float64], quotient: NDArray[np.float64]) -> None:
    """Solve quotient · below = above for a positive definite `below`, by Cholesky's factors in its place."""
    _factorise(below)
    for row in range(LEVELS):
        for j in range(LEVELS):
            rest = above[row, j]
            for a in range(j):
                rest -= below[j, a] * quotient[row, a]
            quotient[row, j] = rest / below[j, j]
        for j in range(LEVELS - 1, -1, -1):
            rest = quotient[row, j]
            for a in range(j + 1, LEVELS):
                rest -= below[a, j] * quotient[row, a]
            quotient[row, j] = rest / below[j, j]


@compiled
def _lift(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    gain: NDArray[np.float64],
    step: NDArray[np.float64],
    lift: NDArray[np.float64],
) -> None:
    """Add C step to the mean and C lift C' to the covariance, in place."""
    for j in range(LEVELS):
        for a in range(LEVELS):
            mean[j] += gain[j, a] * step[a]
        for k in range(j + 1):
            added = 0.0
            for a in range(LEVELS):
                for c in range(LEVELS):
                    added += gain[j, a] * lift[a, c] * gain[k, c]
            covariance[j, k] += added
            covariance[k, j] = covariance[j, k]


@compiled
def _smooth(day: NDArray[np.float64], mean: NDArray[np.float64], covariance: NDArray[np.float64], model: Model) -> None:
    """Turn filtered moments into smoothed ones, backwards and in place."""
    ahead = np.empty((LEVELS, LEVELS))
    lift = np.empty((LEVELS, LEVELS))
    gain = np.empty((LEVELS, LEVELS))
    step = np.empty(LEVELS)
    for t in range(day.size - 2, -1, -1):
        copy_moments(mean[t], covariance[t], step, ahead)
        drift(ahead, day[t + 1] - day[t], model)
        for j in range(LEVELS):
            step[j] = mean[t + 1, j] - step[j]
            for k in range(LEVELS):
                lift[j, k] = covariance[t + 1, j, k] - ahead[j, k]
        _divide(covariance[t], ahead, gain)
        _lift(mean[t], covariance[t], gain, step, lift)
