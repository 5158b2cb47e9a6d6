"""The readings of one series as arrays: the form in which the loops take them.

Letters: ``R`` readings in the engine's order, ``2`` left and right in that order.
"""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.order_statistics import variance_of_largest
from stillset_core.records import Direction
from stillset_core.series import Reading
from stillset_core.trend.parameters import Parameters

__all__ = ["Rows", "days_between", "first_of", "noise_variance", "rows_of"]

DAY = timedelta(days=1)
SMALLEST_SHARE = 1e-3
"""Noise variances are kept above this share of noise_sd squared, whatever the rep counts and overrides."""
LARGEST_CORRELATION = 1 - 1e-6
"""The noise of the two sides is kept below this correlation, so that its covariance can be inverted."""
NOISE_REPS = 3
"""noise_sd is the SD of a best of three; the mean of n reps is compared with it."""


class Rows(NamedTuple):
    """The readings of one series.

    Attributes
    ----------
    day : (R,) array
        Days since the first reading.
    fresh : (R,) bool array
        Whether a new session begins with the reading.
    first : (R,) int array
        Index of the reading's left side in the state: 0 squeeze, 2 spread.
    counts : (R,) bool array
        Counting reading (True) or lower bound.
    log_value : (R, 2) array
        Log of the adjusted value, or of the bound; 0 where a side was not measured.
    measured : (R, 2) bool array
        Whether the side was measured.
    noise : (R, 3) array
        Noise variance of left and right and their covariance at noise scale 1; unused for bounds.
    """

    day: NDArray[np.float64]
    fresh: NDArray[np.bool_]
    first: NDArray[np.int64]
    counts: NDArray[np.bool_]
    log_value: NDArray[np.float64]
    measured: NDArray[np.bool_]
    noise: NDArray[np.float64]


def days_between(start: datetime, end: datetime) -> float:
    """Fractional days from `start` to `end`."""
    return (end - start) / DAY


def first_of(direction: Direction) -> int:
    """Index of a direction's left side in the state; its right side is the next."""
    return 2 if direction is Direction.SPREAD else 0


def rows_of(readings: Sequence[Reading], parameters: Parameters) -> Rows:
    """Arrays of the readings of one series.

    Parameters
    ----------
    readings : sequence of R Reading
        In the engine's order (``Reading.order``); at least one.
    parameters : Parameters

    Returns
    -------
    Rows
    """
    count = len(readings)
    sessions = [reading.session for reading in readings]
    values = np.array([_values(reading) for reading in readings], dtype=np.float64)
    measured = values > 0  # a force that has no logarithm says nothing
    return Rows(
        day=np.array([days_between(readings[0].performed_at, reading.performed_at) for reading in readings]),
        fresh=np.array([i == 0 or sessions[i] != sessions[i - 1] for i in range(count)]),
        first=np.array([first_of(reading.direction) for reading in readings], dtype=np.int64),
        counts=np.array([reading.counts for reading in readings]),
        log_value=np.log(np.where(measured, values, 1.0)),
        measured=measured,
        noise=np.array([_noise(reading.value, parameters) for reading in readings], dtype=np.float64),
    )


def _values(reading: Reading) -> tuple[float, float]:
    """Left and right in SI; 0 for a side that was not measured."""
    value = reading.value
    if isinstance(value, Counted):
        return value.adjusted_left or 0.0, value.adjusted_right or 0.0
    return value.left or 0.0, value.right or 0.0


def _noise(value: Counted | Bound, parameters: Parameters) -> tuple[float, float, float]:
    """Noise variance of left and right and their covariance, at noise scale 1."""
    if isinstance(value, Bound):
        return 0.0, 0.0, 0.0
    left = noise_variance(value.reps_left, parameters)
    right = noise_variance(value.reps_right, parameters)
    shared = parameters.side_noise_correlation * parameters.noise_sd**2
    return left, right, min(shared, LARGEST_CORRELATION * math.sqrt(left * right))


def noise_variance(reps: int, parameters: Parameters) -> float:
    """Noise variance of a value made of `reps` maximal reps, at noise scale 1."""
    reps = max(reps, 1)
    if parameters.takes_mean:
        excess = 1 / reps - variance_of_largest(NOISE_REPS)
    else:
        excess = variance_of_largest(reps) - variance_of_largest(parameters.reps_standard)
    usual = parameters.noise_sd**2
    return max(usual + excess * parameters.rep_sd**2, SMALLEST_SHARE * usual)
