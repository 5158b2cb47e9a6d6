"""How the errors of the levels at two times go together: what a comparison of the two needs beside their intervals."""

from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillset_core.protocol import Protocol
from stillset_core.series import Reading
from stillset_core.trend.filtering import Clones, filter_readings
from stillset_core.trend.parameters import model_at, parameters_for
from stillset_core.trend.rows import days_between, rows_of
from stillset_core.trend.transition import LEVELS, SIZE

__all__ = ["Between", "between"]


class Between(NamedTuple):
    """Log levels then and now, each (4,): variance then as known now, and covariance of then and now."""

    variance_then: NDArray[np.float64]
    covariance: NDArray[np.float64]


def between(
    readings: Sequence[Reading], protocol: Protocol, noise_scale: float, then: datetime, as_of: datetime
) -> Between:
    """Joint distribution of the levels at two times, exact within the engine: a clone rides along from the first.

    Parameters
    ----------
    readings : sequence of R Reading
        All of one series and none later than `as_of`; at least one at or before `then`.
    protocol : Protocol
    noise_scale : float
        As found for the series at `as_of`.
    then, as_of : datetime
        `then` is not later than `as_of`; readings at `then` itself belong to it.

    Returns
    -------
    Between
        The covariance is also that of the error of the level as it was known then with the error now, because what
        comes in later moves both by the same gains.
    """
    ordered = sorted(readings, key=lambda reading: reading.order)
    parameters = parameters_for(protocol, ordered[0].series.quantity)
    start = ordered[0].performed_at
    after = sum(reading.performed_at <= then for reading in ordered)
    clones = Clones(np.full(2, after, dtype=np.int64), np.full(2, days_between(start, then)))
    model = model_at(parameters, noise_scale)
    run = filter_readings(rows_of(ordered, parameters), parameters, model, clones, days_between(start, as_of))
    levels = np.arange(LEVELS)
    covariance = run.end_covariance
    return Between(covariance[levels + SIZE, levels + SIZE].copy(), covariance[levels, levels + SIZE].copy())
