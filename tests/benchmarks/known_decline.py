"""The detector that knows everything but the day: Shiryaev-Roberts with the true decline, noise and drift.

It is the bank's one hypothesis come true: the depth and the sides of the decline, the athlete's noise
scale and the drift are given; only the onset is unknown, on a grid twice as fine as the bank's and open
for longer. No detector that has to learn these things can be expected to call sooner.
"""

import math

import numpy as np
from charts import Track
from numpy.typing import NDArray
from squad_simulator import SERIES, Season

from stillset_core.protocol import Protocol
from stillset_core.trend.compiled import compiled
from stillset_core.trend.filtering import absorb
from stillset_core.trend.parameters import Model, Parameters, model_at, parameters_for
from stillset_core.trend.rows import Rows, rows_of
from stillset_core.trend.transition import LEVELS, SIZE, copy_moments, drift, forget_session, start

ONSET_EVERY = 3.5
"""Days between two onsets."""
OPEN_ONSETS = 24
"""An onset stays open for 84 days."""
RAMP_DAYS = 21.0
"""Days over which the simulated declines come."""


def true_parameters(noise_sd: float, session_sd: float) -> Parameters:
    """Engine parameters of a simulated squad; all others are the simulator's own."""
    protocol = Protocol.model_validate({"trend": {"noise_sd": noise_sd, "session_sd": session_sd}})
    return parameters_for(protocol, SERIES.quantity)


def known_track(season: Season, decline: NDArray[np.float64], parameters: Parameters) -> Track:
    """Statistic at each instant of a season for a known decline of the four log levels."""
    rows = rows_of(season.readings, parameters)
    mean, covariance = start(parameters, SIZE)
    statistic = _run_known(mean, covariance, rows, decline, model_at(parameters, season.noise_scale))
    last = np.append(np.diff(rows.day) > 0, True)
    return rows.day[last], statistic[last]


@compiled
def _run_known(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    rows: Rows,
    decline: NDArray[np.float64],
    model: Model,
) -> NDArray[np.float64]:
    """Log of the likelihood ratios summed over the open onsets, after each reading."""
    means = np.empty((OPEN_ONSETS, SIZE))
    covariances = np.empty((OPEN_ONSETS, SIZE, SIZE))
    log_ratio = np.full(OPEN_ONSETS, -np.inf)
    statistic = np.empty(rows.day.size)
    unshifted = np.zeros((3, SIZE))
    shift = np.zeros((3, SIZE))
    newest = -1
    day = 0.0
    for i in range(rows.day.size):
        latest = math.floor(rows.day[i] / ONSET_EVERY)
        for onset in range(max(newest + 1, latest - OPEN_ONSETS + 1), latest + 1):
            slot = onset % OPEN_ONSETS
            copy_moments(mean, covariance, means[slot], covariances[slot])
            log_ratio[slot] = 0.0
        newest = latest
        passed = rows.day[i] - day
        day = rows.day[i]
        drift(covariance, passed, model)
        if rows.fresh[i]:
            forget_session(mean, covariance, model)
        plain = absorb(mean, covariance, rows, i, unshifted, model)
        for onset in range(max(0, latest - OPEN_ONSETS + 1), latest + 1):
            slot = onset % OPEN_ONSETS
            drift(covariances[slot], passed, model)
            if rows.fresh[i]:
                forget_session(means[slot], covariances[slot], model)
            share = min(1.0, (day - onset * ONSET_EVERY) / RAMP_DAYS)
            for level in range(LEVELS):
                shift[0, level] = share * decline[level]
            log_ratio[slot] += absorb(means[slot], covariances[slot], rows, i, shift, model) - plain
        highest = log_ratio.max()
        statistic[i] = highest + math.log(np.exp(log_ratio - highest).sum())
    return statistic
