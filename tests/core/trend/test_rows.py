import math

import numpy as np
import pytest

from stillset_core.records import Direction
from stillset_core.trend.parameters import Parameters
from stillset_core.trend.rows import rows_of

V1, V3, V6 = 1.0, 0.5594672038, 0.4159271090  # variances of the largest of n standard normals


def test_days_sessions_and_directions_become_arrays(log) -> None:
    log.counts(0).counts(0.25, session=0).at_least(2.5, direction=Direction.SPREAD)
    rows = rows_of(log.readings, Parameters())
    assert rows.day.tolist() == [0.0, 0.25, 2.5]
    assert rows.fresh.tolist() == [True, False, True]
    assert rows.first.tolist() == [0, 0, 2]
    assert rows.counts.tolist() == [True, True, False]


def test_a_side_that_was_not_measured_or_has_no_logarithm_is_marked(log) -> None:
    log.counts(0, left=None, right=200.0).counts(1, left=0.0, right=200.0)
    rows = rows_of(log.readings, Parameters())
    assert rows.measured.tolist() == [[False, True], [False, True]]
    assert rows.log_value == pytest.approx(np.array([[0, math.log(200)]] * 2))


@pytest.mark.parametrize(("reps", "largest"), [(1, V1), (3, V3), (6, V6)])
def test_the_noise_of_a_best_of_depends_on_the_number_of_reps(log, reps: int, largest: float) -> None:
    rows = rows_of(log.counts(0, reps=reps).readings, Parameters())
    own = 0.052**2 + (largest - V3) * 0.04**2
    assert rows.noise[0] == pytest.approx([own, own, 0.5 * 0.052**2], abs=1e-12)


def test_each_side_has_the_noise_of_its_own_reps(log) -> None:
    log.counts(0, right=None, reps=6).counts(1, left=None, reps=1)
    noise = rows_of(log.readings, Parameters()).noise
    assert noise[0, 0] == pytest.approx(0.052**2 + (V6 - V3) * 0.04**2, abs=1e-12)
    assert noise[1, 1] == pytest.approx(0.052**2 + (V1 - V3) * 0.04**2, abs=1e-12)


def test_the_noise_of_a_mean_falls_with_the_number_of_reps(log) -> None:
    rows = rows_of(log.counts(0, reps=4).readings, Parameters(takes_mean=True))
    assert rows.noise[0, 0] == pytest.approx(0.052**2 + (1 / 4 - V3) * 0.04**2, abs=1e-12)


def test_a_noise_variance_never_vanishes_and_stays_a_covariance(log) -> None:
    rows = rows_of(log.counts(0, reps=60).readings, Parameters(rep_sd=1.0, side_noise_correlation=0.9))
    left, right, between = rows.noise[0]
    assert left > 0
    assert left * right > between**2


@pytest.mark.parametrize("correlation", [0.0, 0.9, 0.9995, 0.99999])
def test_any_correlation_of_the_sides_is_taken_as_it_is_set(log, correlation: float) -> None:
    left, right, between = rows_of(log.counts(0).readings, Parameters(side_noise_correlation=correlation)).noise[0]
    assert between / math.sqrt(left * right) == pytest.approx(correlation, abs=1e-12)
