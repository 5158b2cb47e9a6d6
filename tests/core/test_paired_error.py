"""The error of one reading from pairs of them."""

import math

import numpy as np
import pytest

from stillset_core.paired_error import Outliers, Pairs, paired_error

OUTLIERS = Outliers(0.05, 0.2)


def pairs_of(difference, noise=2.0, drift=0.0, athlete=None):
    count = len(difference)
    whose = np.arange(count) if athlete is None else np.array(athlete)
    return Pairs(np.array(difference), np.full(count, noise), np.full(count, drift), whose)


def simulated(seed, count=2000, sd=0.06, noise=2.0, drift=0.0):
    rng = np.random.default_rng(seed)
    return rng.normal(0, math.sqrt(noise * sd**2 + drift), count)


def test_without_outliers_it_is_the_sd_of_the_differences_over_root_two():
    differences = simulated(1, count=30)
    found = paired_error(pairs_of(differences), Outliers(0.0, 0.2))
    assert found.log_sd == pytest.approx(np.std(differences, ddof=1) / math.sqrt(2), rel=1e-6)
    assert found.mean_change == pytest.approx(differences.mean(), rel=1e-6)
    assert 20 < found.degrees_of_freedom <= 28
    assert (found.usual == 1).all()


def test_a_change_from_each_first_to_each_second_reading_is_no_error():
    differences = simulated(2, count=40)
    before, after = (paired_error(pairs_of(differences + shift), OUTLIERS) for shift in (0.0, 0.1))
    assert after.log_sd == pytest.approx(before.log_sd, rel=1e-6)
    assert after.mean_change - before.mean_change == pytest.approx(0.1, abs=1e-6)


@pytest.mark.parametrize("wild", [0.8, 2.3, 300.0])
def test_a_wild_reading_hardly_shows(wild):
    differences = simulated(3, count=40)
    clean = paired_error(pairs_of(differences), OUTLIERS)
    spoilt = paired_error(pairs_of([*differences, wild]), OUTLIERS)
    assert spoilt.log_sd == pytest.approx(clean.log_sd, rel=0.1)
    assert spoilt.usual[-1] < 1e-6
    assert np.std([*differences, wild], ddof=1) / math.sqrt(2) > 1.5 * clean.log_sd


def test_drift_in_between_is_taken_out():
    differences = simulated(4, drift=0.003)
    without = paired_error(pairs_of(differences), OUTLIERS)
    found = paired_error(pairs_of(differences, drift=0.003), OUTLIERS)
    assert found.log_sd == pytest.approx(0.06, rel=0.05)
    assert without.log_sd > 1.1 * found.log_sd
    assert found.degrees_of_freedom < without.degrees_of_freedom


def test_readings_of_fewer_reps_are_brought_to_the_standard():
    assert paired_error(pairs_of(simulated(5, noise=3.0), noise=3.0), OUTLIERS).log_sd == pytest.approx(0.06, rel=0.05)


def test_pairs_of_one_athlete_that_scatter_alike_count_less():
    noisy, calm = simulated(6, count=60, sd=0.09), simulated(7, count=60, sd=0.04)
    apart = pairs_of([*noisy, *calm])
    together = pairs_of([*noisy, *calm], athlete=[0] * 60 + [1] * 60)
    first, second = paired_error(apart, OUTLIERS), paired_error(together, OUTLIERS)
    assert second.log_sd == first.log_sd
    assert second.degrees_of_freedom < 0.2 * first.degrees_of_freedom


def test_the_order_of_pairs_does_not_matter():
    differences = simulated(8, count=25)
    forward, backward = (
        paired_error(pairs_of(differences), OUTLIERS),
        paired_error(pairs_of(differences[::-1]), OUTLIERS),
    )
    assert backward.log_sd == pytest.approx(forward.log_sd, rel=1e-9)
    assert backward.degrees_of_freedom == pytest.approx(forward.degrees_of_freedom, rel=1e-9)


@pytest.mark.parametrize("drift", [0.0, 1e-4])
@pytest.mark.parametrize("differences", [[0.0] * 6, [700.0] * 6, [0.0] * 5 + [2.3], [0.1] * 5 + [-300.0]])
def test_readings_that_differ_no_more_than_by_drift_give_no_error(differences, drift):
    assert paired_error(pairs_of(differences, drift=drift), OUTLIERS) is None


@pytest.mark.parametrize(
    "outliers", [Outliers(0.0, 0.0), Outliers(0.5, 0.0), Outliers(0.5, 10.0), Outliers(1e-12, 0.2)]
)
@pytest.mark.parametrize("differences", [[-700.0, 700.0, 300.0, 20.0, -1.0], [1e-9, -1e-9, 2e-9], [0.05, -0.04, 5.0]])
def test_nothing_odd_makes_an_odd_number(differences, outliers):
    found = paired_error(pairs_of(differences), outliers)
    if found is not None:
        assert 0 < found.log_sd < math.inf
        assert 1 <= found.degrees_of_freedom <= len(differences)
        assert math.isfinite(found.mean_change)
