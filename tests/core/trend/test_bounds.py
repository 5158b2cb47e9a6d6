import math

import pytest

from stillset_core.trend.bounds import bound_gain
from stillset_core.trend.parameters import Parameters, model_at

MODEL = model_at(Parameters(), 1.0)


def test_a_bound_far_below_the_level_says_nothing() -> None:
    log_likelihood, gain, shrink = bound_gain(0.01, 3.0, MODEL)
    assert log_likelihood == pytest.approx(0.0, abs=1e-9)
    assert gain == pytest.approx(0.0, abs=1e-9)
    assert shrink == pytest.approx(0.0, abs=1e-9)


def test_a_bound_above_the_level_lifts_it_and_narrows_it() -> None:
    _, gain, shrink = bound_gain(0.01, -0.1, MODEL)
    assert gain > 0
    assert 0 < shrink * 0.01 < 1


@pytest.mark.parametrize("above", [-1e-3, -1.0, -20.0, -1e4])
def test_the_variance_stays_positive_however_high_the_bound(above: float) -> None:
    log_likelihood, gain, shrink = bound_gain(0.01, above, MODEL)
    assert math.isfinite(log_likelihood)
    assert math.isfinite(gain)
    assert shrink * 0.01 < 1
