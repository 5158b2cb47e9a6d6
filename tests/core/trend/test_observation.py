import math

import pytest

from stillset_core.trend.observation import counting_gain, mixed
from stillset_core.trend.parameters import Parameters, model_at

MODEL = model_at(Parameters(), 1.0)
PRIOR = (0.01, 0.012, 0.005)
NOISE = (0.0027, 0.003, 0.00135)


def test_mixed_components_sum_in_logs() -> None:
    total, share = mixed(math.log(0.3), math.log(0.1))
    assert math.exp(total) == pytest.approx(0.4)
    assert share == pytest.approx(0.75)
    assert mixed(-1e9, -1e9 - 3)[1] == pytest.approx(1 / (1 + math.exp(-3)))
    assert mixed(-50.0, 0.0)[0] == pytest.approx(math.exp(-50))


def test_a_side_that_was_not_measured_gets_no_gain() -> None:
    log_likelihood, gain, shrink = counting_gain(PRIOR, NOISE, (0.02, 123.0), (True, False), MODEL)
    assert (gain[1], shrink[1], shrink[2]) == (0.0, 0.0, 0.0)
    usual = PRIOR[0] + NOISE[0]
    normal = [
        weight * math.exp(-0.5 * 0.02**2 / variance) / math.sqrt(2 * math.pi * variance)
        for weight, variance in ((0.95, usual), (0.05, usual + 0.2**2))
    ]
    assert log_likelihood == pytest.approx(math.log(sum(normal)), abs=1e-12)


def test_left_and_right_are_treated_alike() -> None:
    there = counting_gain(PRIOR, NOISE, (0.1, -0.05), (True, True), MODEL)
    swapped = [(a[1], a[0], a[2]) for a in (PRIOR, NOISE)]
    back = counting_gain(swapped[0], swapped[1], (-0.05, 0.1), (True, True), MODEL)
    assert there[0] == pytest.approx(back[0])
    assert there[1] == pytest.approx((back[1][1], back[1][0]))


def test_a_reading_far_off_moves_the_level_less_than_one_that_is_near() -> None:
    near = counting_gain(PRIOR, NOISE, (-0.1, -0.1), (True, True), MODEL)[1][0]
    far = counting_gain(PRIOR, NOISE, (-0.8, -0.8), (True, True), MODEL)[1][0]
    assert far / -0.8 < 0.5 * near / -0.1


def test_a_reading_beyond_belief_is_still_finite() -> None:
    log_likelihood, gain, shrink = counting_gain(PRIOR, NOISE, (500.0, -500.0), (True, True), MODEL)
    assert all(map(math.isfinite, (log_likelihood, *gain, *shrink)))
