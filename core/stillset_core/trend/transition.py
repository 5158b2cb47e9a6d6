"""What happens between two readings: the levels drift, and a session's effect is forgotten.

The state is (x, b, clones): four log levels, the session effect at index 4, and after it, where the
array is long enough, copies of the levels taken at the end of the baseline.
"""

import numpy as np
from numpy.typing import NDArray

from stillset_core.trend.compiled import compiled
from stillset_core.trend.parameters import Model, Parameters

__all__ = [
    "CLONED_SIZE",
    "LEVELS",
    "SESSION",
    "SIZE",
    "clone_levels",
    "copy_moments",
    "drift",
    "forget_session",
    "start",
]

LEVELS = 4
"""Number of levels; they come first in the state."""
SESSION = 4
"""Index of the session effect."""
SIZE = 5
"""Length of the state without clones."""
CLONED_SIZE = SIZE + LEVELS
"""Length of the state with room for a clone of each level."""


def start(parameters: Parameters, size: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean (size,) and covariance (size, size) before the first reading."""
    mean = np.zeros(size)
    mean[:LEVELS] = parameters.prior_mean_log
    covariance = np.zeros((size, size))
    shared = np.full((LEVELS, LEVELS), parameters.prior_side_correlation)
    np.fill_diagonal(shared, 1.0)
    covariance[:LEVELS, :LEVELS] = parameters.prior_sd**2 * shared
    return mean, covariance


@compiled
def copy_moments(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    to_mean: NDArray[np.float64],
    to_covariance: NDArray[np.float64],
) -> None:
    """Copy as much of the moments as the target has room for.

    A loop, here and elsewhere, where a slice would do: each kind of slice costs a second to compile.
    """
    for j in range(to_mean.size):
        to_mean[j] = mean[j]
        for k in range(to_mean.size):
            to_covariance[j, k] = covariance[j, k]


@compiled
def drift(covariance: NDArray[np.float64], days: float, model: Model) -> None:
    """Let the levels drift for some days: only their covariance changes, in place."""
    own = model.drift * days
    shared = model.drift_shared * days
    for j in range(LEVELS):
        for k in range(LEVELS):
            covariance[j, k] += own if j == k else shared


@compiled
def forget_session(mean: NDArray[np.float64], covariance: NDArray[np.float64], model: Model) -> None:
    """Begin a session: its effect is new and independent of everything before, in place."""
    mean[SESSION] = 0.0
    for j in range(mean.size):
        covariance[j, SESSION] = 0.0
        covariance[SESSION, j] = 0.0
    covariance[SESSION, SESSION] = model.session


@compiled
def clone_levels(mean: NDArray[np.float64], covariance: NDArray[np.float64], first: int) -> None:
    """Copy the two levels of the direction at `first` into their clones, jointly exact, in place."""
    for level in range(first, first + 2):
        clone = SIZE + level
        mean[clone] = mean[level]
        for j in range(mean.size):
            covariance[clone, j] = covariance[level, j]
        for j in range(mean.size):
            covariance[j, clone] = covariance[j, level]
