"""The annual flow of the Nile at Aswan, 1871-1970, as a local level.

Sources: the series as statsmodels ships it (public domain); statsmodels' Kalman filter and smoother with
the same known start; the exact-diffuse log likelihood -633.464564 at variances 15098.5 and 1469.2
(Durbin & Koopman 2012 print 15099 and 1469.1). Log likelihoods are those of all observations with their
2 pi; the exact-diffuse one is the limit of log likelihood + ln(start variance) / 2.
The engine works on logs; its filter does not know that, and takes the flow as it is.
"""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.typing import NDArray

from stillset_core.trend.filtering import NO_CLONES, FilterRun, filter_readings
from stillset_core.trend.parameters import Model, Parameters, model_at
from stillset_core.trend.rows import Rows
from stillset_core.trend.smoothing import Moments, smooth

FLOW: NDArray[np.float64] = sm.datasets.nile.load_pandas().data["volume"].to_numpy(dtype=np.float64)
IRREGULAR, LEVEL = 15098.5, 1469.2
DIFFUSE_LOG_LIKELIHOOD = -633.464564


def parameters(start: float, start_variance: float) -> Parameters:
    return Parameters(
        drift_per_sqrt_day=math.sqrt(LEVEL),
        drift_correlation=0.0,
        noise_sd=math.sqrt(IRREGULAR),
        session_sd=0.0,
        outlier_share=0.0,
        prior_mean_log=start,
        prior_sd=math.sqrt(start_variance),
    )


def filtered(start: float, start_variance: float) -> tuple[FilterRun, Rows, Model]:
    count = FLOW.size
    rows = Rows(
        day=np.arange(count, dtype=np.float64),
        fresh=np.ones(count, dtype=np.bool_),
        first=np.zeros(count, dtype=np.int64),
        counts=np.ones(count, dtype=np.bool_),
        log_value=np.column_stack([FLOW, np.zeros(count)]),
        measured=np.column_stack([np.ones(count, dtype=np.bool_), np.zeros(count, dtype=np.bool_)]),
        noise=np.column_stack([np.full(count, IRREGULAR), np.full(count, IRREGULAR), np.zeros(count)]),
    )
    engine = parameters(start, start_variance)
    model = model_at(engine, 1.0)
    return filter_readings(rows, engine, model, NO_CLONES, count - 1.0), rows, model


def theirs(start: float | None = None, start_variance: float | None = None) -> sm.tsa.UnobservedComponents:
    model = sm.tsa.UnobservedComponents(FLOW, "local level", use_exact_diffuse=start is None)
    if start is not None:
        model.ssm.initialize_known(np.array([start]), np.array([[start_variance]]))
    return model.smooth([IRREGULAR, LEVEL])


def test_filtered_levels_equal_statsmodels() -> None:
    run, _, _ = filtered(1000.0, 200.0**2)
    other = theirs(1000.0, 200.0**2)
    assert run.mean[:, 0] == pytest.approx(other.filtered_state[0], rel=1e-6)
    assert run.covariance[:, 0, 0] == pytest.approx(other.filtered_state_cov[0, 0], rel=1e-6)


def test_smoothed_levels_equal_statsmodels() -> None:
    run, rows, model = filtered(1000.0, 200.0**2)
    smoothed = smooth(Moments(rows.day, run.mean, run.covariance), model)
    other = theirs(1000.0, 200.0**2)
    assert smoothed.mean[:, 0] == pytest.approx(other.smoothed_state[0], rel=1e-6)
    assert smoothed.covariance[:, 0, 0] == pytest.approx(other.smoothed_state_cov[0, 0], rel=1e-6)


def test_log_likelihood_equals_statsmodels() -> None:
    run, _, _ = filtered(1000.0, 200.0**2)
    other = theirs(1000.0, 200.0**2).llf_obs.sum()  # llf leaves out the first observation
    assert run.log_likelihood == pytest.approx(other, abs=1e-6)


def test_exact_diffuse_log_likelihood_is_the_published_one() -> None:
    start_variance = 1e11
    run, _, _ = filtered(FLOW[0], start_variance)
    diffuse = run.log_likelihood + 0.5 * math.log(start_variance)
    assert diffuse == pytest.approx(DIFFUSE_LOG_LIKELIHOOD, abs=1e-6)
    assert theirs().llf == pytest.approx(DIFFUSE_LOG_LIKELIHOOD, abs=1e-6)
