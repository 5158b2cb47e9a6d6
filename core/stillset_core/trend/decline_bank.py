"""The bank of declines: for every reading, how much better a recent decline explains the readings than none.

Shiryaev-Roberts statistic over a small bank of hypotheses (A. N. Shiryaev 1963; S. W. Roberts 1966). Each
hypothesis is an onset on a weekly grid, a pattern over the four levels and a depth; its filter starts
from the moments of the plain filter at the onset and sees the readings with its ramp taken off.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillset_core.trend.compiled import compiled
from stillset_core.trend.filtering import absorb
from stillset_core.trend.parameters import Model, Parameters
from stillset_core.trend.rows import Rows
from stillset_core.trend.transition import LEVELS, SIZE, copy_moments, drift, forget_session, start

__all__ = ["PATTERNS", "BankRun", "bank_of"]

ONSET_EVERY = 7.0
"""Days between two onsets."""
OPEN_ONSETS = 8
"""Number of onsets that are open at a time: an onset stays open for 56 days."""
RAMP_DAYS = 21.0
"""Days over which a decline comes."""
DEPTHS = (0.06, 0.12)
"""Depths of a decline: Crow et al. 2010 saw 5.8 % in the week before groin pain and 11.8 % at its onset."""
PATTERNS = (
    (1.0, 1.0, 0.0, 0.0),
    (1.0, 0.3, 0.0, 0.0),
    (0.3, 1.0, 0.0, 0.0),
    (0.0, 0.0, 1.0, 1.0),
    (0.0, 0.0, 1.0, 0.3),
    (0.0, 0.0, 0.3, 1.0),
)
"""Share of the depth by which squeeze left, squeeze right, spread left and spread right decline."""
PATTERN_COUNT = len(PATTERNS)

_DECLINES = np.array([[math.log1p(-depth) * share for share in pattern] for pattern in PATTERNS for depth in DEPTHS])
"""Full decline of the four levels on the log scale, one row for each hypothesis: pattern by pattern."""


class BankRun(NamedTuple):
    """Statistic (R,) after each reading, and index (R,) of the pattern that leads."""

    statistic: NDArray[np.float64]
    leading: NDArray[np.int64]


def bank_of(rows: Rows, parameters: Parameters, model: Model) -> BankRun:
    """Run the bank over the readings of one series.

    Parameters
    ----------
    rows : Rows
    parameters : Parameters
        For the start.
    model : Model
        At the athlete's noise scale.

    Returns
    -------
    BankRun
    """
    mean, covariance = start(parameters, SIZE)
    statistic, leading = _run_bank(mean, covariance, rows, _DECLINES.copy(), model)
    return BankRun(statistic, leading)


@compiled
def _open_onset(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    means: NDArray[np.float64],
    covariances: NDArray[np.float64],
    log_ratio: NDArray[np.float64],
) -> None:
    """Let every hypothesis of one onset start from the moments of the plain filter."""
    for h in range(log_ratio.size):
        copy_moments(mean, covariance, means[h], covariances[h])
        log_ratio[h] = 0.0


@compiled
def _summed(log_ratio: NDArray[np.float64], onsets: int) -> tuple[float, int]:
    """Log of the likelihood ratios summed over open onsets and averaged over hypotheses; the leading pattern."""
    hypotheses = log_ratio.shape[1]
    highest = log_ratio[0, 0]
    for slot in range(onsets):
        for h in range(hypotheses):
            highest = max(highest, log_ratio[slot, h])
    depths = hypotheses // PATTERN_COUNT
    total = 0.0
    best = -1.0
    leading = 0
    for pattern in range(PATTERN_COUNT):
        weight = 0.0
        for h in range(pattern * depths, (pattern + 1) * depths):
            for slot in range(onsets):
                weight += math.exp(log_ratio[slot, h] - highest)
        total += weight
        if weight > best:
            best = weight
            leading = pattern
    return highest + math.log(total / hypotheses), leading


@compiled
def _run_bank(
    mean: NDArray[np.float64],
    covariance: NDArray[np.float64],
    rows: Rows,
    declines: NDArray[np.float64],
    model: Model,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Statistic and leading pattern after each reading; the plain filter runs along in place."""
    hypotheses = declines.shape[0]
    means = np.empty((OPEN_ONSETS, hypotheses, SIZE))
    covariances = np.empty((OPEN_ONSETS, hypotheses, SIZE, SIZE))
    log_ratio = np.empty((OPEN_ONSETS, hypotheses))
    statistic = np.empty(rows.day.size)
    leading = np.empty(rows.day.size, dtype=np.int64)
    unshifted = np.zeros((3, SIZE))
    shift = np.zeros((3, SIZE))
    newest = -1
    day = 0.0
    for i in range(rows.day.size):
        latest = math.floor(rows.day[i] / ONSET_EVERY)
        for onset in range(max(newest + 1, latest - OPEN_ONSETS + 1), latest + 1):
            slot = onset % OPEN_ONSETS
            _open_onset(mean, covariance, means[slot], covariances[slot], log_ratio[slot])
        newest = latest
        passed = rows.day[i] - day
        day = rows.day[i]
        drift(covariance, passed, model)
        if rows.fresh[i]:
            forget_session(mean, covariance, model)
        plain = absorb(mean, covariance, rows, i, unshifted, model)
        for onset in range(max(0, latest - OPEN_ONSETS + 1), latest + 1):
            slot = onset % OPEN_ONSETS
            share = min(1.0, (day - onset * ONSET_EVERY) / RAMP_DAYS)
            for h in range(hypotheses):
                drift(covariances[slot, h], passed, model)
                if rows.fresh[i]:
                    forget_session(means[slot, h], covariances[slot, h], model)
                for level in range(LEVELS):
                    shift[0, level] = share * declines[h, level]
                ramped = absorb(means[slot, h], covariances[slot, h], rows, i, shift, model)
                log_ratio[slot, h] += ramped - plain
        statistic[i], leading[i] = _summed(log_ratio, min(OPEN_ONSETS, latest + 1))
    return statistic, leading
