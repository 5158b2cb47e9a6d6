"""A local level of ten observations against the R package KFAS, exact-diffuse start.

Source: data/kfas_local_level.csv, KFAS' output as statsmodels ships it for its own tests (notice in
data/README-state-space.md). The variances, 1.993 and 8.253, are those of its columns F_1 and sumP. Our start has
variance 1e8 about the first observation instead of an infinite one: agreement to 1e-6.

Where we differ: KFAS' log likelihood leaves out the 2 pi of the diffuse observation. Its column sumPtt
holds half the filtered variance (in the last row, where filtering and smoothing agree, sumV is twice
as much), so that the filtered variance is taken from the forecast of the next row, sumP.
"""

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from stillset_core.trend.filtering import NO_CLONES, FilterRun, filter_readings
from stillset_core.trend.parameters import Parameters, model_at
from stillset_core.trend.rows import Rows
from stillset_core.trend.smoothing import Moments, smooth

TABLE = pd.read_csv(Path(__file__).parent / "data/kfas_local_level.csv")
KFAS = TABLE.iloc[:-1]  # the last row is a forecast
SERIES = (KFAS["a_1"] + KFAS["v_1"]).to_numpy()
IRREGULAR, LEVEL = 1.993, 8.253
START_VARIANCE = 1e8


@pytest.fixture
def ours() -> tuple[FilterRun, Moments]:
    count = SERIES.size
    rows = Rows(
        day=np.arange(count, dtype=np.float64),
        fresh=np.ones(count, dtype=np.bool_),
        first=np.zeros(count, dtype=np.int64),
        counts=np.ones(count, dtype=np.bool_),
        log_value=np.column_stack([SERIES, np.zeros(count)]),
        measured=np.column_stack([np.ones(count, dtype=np.bool_), np.zeros(count, dtype=np.bool_)]),
        noise=np.column_stack([np.full(count, IRREGULAR), np.full(count, IRREGULAR), np.zeros(count)]),
    )
    parameters = Parameters(
        drift_per_sqrt_day=math.sqrt(LEVEL),
        drift_correlation=0.0,
        session_sd=0.0,
        outlier_share=0.0,
        prior_mean_log=float(SERIES[0]),
        prior_sd=math.sqrt(START_VARIANCE),
    )
    model = model_at(parameters, 1.0)
    run = filter_readings(rows, parameters, model, NO_CLONES, count - 1.0)
    return run, smooth(Moments(rows.day, run.mean, run.covariance), model)


def test_filtered_levels_equal_kfas(ours: tuple[FilterRun, Moments]) -> None:
    run, _ = ours
    assert run.mean[1:, 0] == pytest.approx(KFAS["att_1"].to_numpy()[1:], abs=1e-6)
    assert run.covariance[1:, 0, 0] == pytest.approx(TABLE["sumP"].to_numpy()[2:] - LEVEL, abs=1e-6)


def test_smoothed_levels_equal_kfas(ours: tuple[FilterRun, Moments]) -> None:
    _, smoothed = ours
    assert smoothed.mean[:, 0] == pytest.approx(KFAS["alphahat_1"].to_numpy(), abs=1e-6)
    assert smoothed.covariance[:, 0, 0] == pytest.approx(KFAS["sumV"].to_numpy(), abs=1e-6)


def test_log_likelihood_equals_kfas(ours: tuple[FilterRun, Moments]) -> None:
    run, _ = ours
    diffuse = run.log_likelihood + 0.5 * math.log(2 * math.pi * START_VARIANCE)
    assert diffuse == pytest.approx(KFAS["llf"].iloc[0], abs=1e-6)
