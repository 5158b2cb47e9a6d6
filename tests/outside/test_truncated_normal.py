"""Lower bounds against the truncated normal distribution of scipy, and the far tail against mpmath.

Sources: scipy.stats.truncnorm for the moments where it is accurate (it loses digits of the variance
beyond 30 standard deviations); mpmath with 50 digits in the far tail.
"""

import math

import mpmath
import pytest
from scipy.stats import truncnorm

from stillset_core.trend.bounds import bound_gain, lower_tail
from stillset_core.trend.parameters import Model, Parameters, model_at

mpmath.mp.dps = 50


@pytest.fixture
def exact() -> Model:
    """No noise, no margin, no outliers: the bound cuts the distribution off."""
    return model_at(Parameters(outlier_share=0.0, bound_margin=0.0), 1.0)._replace(bound_noise=0.0)


@pytest.mark.parametrize("bound", [5.0, 5.5, 5.7, 5.9, 6.3])
def test_a_bound_without_noise_gives_the_moments_of_a_truncated_normal(exact: Model, bound: float) -> None:
    mean, variance = 5.7, 0.1**2
    log_likelihood, gain, shrink = bound_gain(variance, mean - bound, exact)
    cut = truncnorm((bound - mean) / math.sqrt(variance), math.inf, loc=mean, scale=math.sqrt(variance))
    assert mean + variance * gain == pytest.approx(cut.mean(), abs=1e-9)
    assert variance - variance**2 * shrink == pytest.approx(cut.var(), rel=1e-8)
    assert math.exp(log_likelihood) == pytest.approx(cut_off_share(bound, mean, variance), rel=1e-9)


def cut_off_share(bound: float, mean: float, variance: float) -> float:
    return float(1 - mpmath.ncdf(mpmath.mpf(bound), mean, mpmath.sqrt(variance)))


@pytest.mark.parametrize("z", [-1000.0, -40.0, -38.6, -20.0, -8.001, -7.999, -5.0, -1.0, 0.0, 2.5, 30.0])
def test_the_lower_tail_is_accurate_however_far(z: float) -> None:
    log_share, slope, excess = lower_tail(z)
    share = mpmath.erfc(-mpmath.mpf(z) / mpmath.sqrt(2)) / 2
    exact_slope = mpmath.exp(-(mpmath.mpf(z) ** 2) / 2) / mpmath.sqrt(2 * mpmath.pi) / share
    assert log_share == pytest.approx(float(mpmath.log(share)), rel=1e-12, abs=1e-300)
    assert slope == pytest.approx(float(exact_slope), rel=1e-12)
    assert excess == pytest.approx(float(exact_slope + z), rel=1e-11)
