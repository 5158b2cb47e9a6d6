"""Largest of n standard normals against the published table, closed forms and another integrator.

Sources
-------
H. L. Harter (1961), Expected values of normal order statistics, Biometrika 48, 151-165: the expected
largest value for n = 2 ... 10, five decimals (from memory). Compared to half a unit of the last place.
Closed forms: E_2 = 1/sqrt(pi), E_3 = 3/(2 sqrt(pi)), V_2 = 1 - 1/pi, V_3 = 1 + sqrt(3)/(2 pi) - 9/(4 pi) (textbook
results for the normal distribution). Compared to 1e-12.
scipy.integrate.quad, an adaptive Gauss-Kronrod rule that shares nothing with the fixed rule in use.
"""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from stillset_core.order_statistics import expected_largest, quantile_ranks, variance_of_largest

HARTER = {2: 0.56419, 3: 0.84628, 4: 1.02938, 5: 1.16296, 6: 1.26721, 10: 1.53875}


@pytest.mark.parametrize(("n", "expected"), HARTER.items())
def test_the_expected_largest_is_that_of_the_published_table(n, expected):
    assert expected_largest(n) == pytest.approx(expected, abs=5.1e-6)


def test_closed_forms():
    root_pi = math.sqrt(math.pi)
    assert expected_largest(1) == 0.0
    assert expected_largest(2) == pytest.approx(1 / root_pi, abs=1e-12)
    assert expected_largest(3) == pytest.approx(3 / (2 * root_pi), abs=1e-12)
    assert variance_of_largest(1) == pytest.approx(1.0, abs=1e-12)
    assert variance_of_largest(2) == pytest.approx(1 - 1 / math.pi, abs=1e-12)
    assert variance_of_largest(3) == pytest.approx(1 + math.sqrt(3) / (2 * math.pi) - 9 / (4 * math.pi), abs=1e-12)


@pytest.mark.parametrize("n", [1, 2, 3, 6, 17, 60])
def test_an_adaptive_integrator_agrees(n):
    def moment(power):
        def integrand(x):
            return x**power * n * stats.norm.pdf(x) * stats.norm.cdf(x) ** (n - 1)

        value, _ = integrate.quad(integrand, -10, 10, epsabs=1e-13, epsrel=1e-13, limit=500)
        return value

    assert expected_largest(n) == pytest.approx(moment(1), abs=1e-10)
    assert variance_of_largest(n) == pytest.approx(moment(2) - moment(1) ** 2, abs=1e-10)


def test_the_values_of_the_engines_equations():
    means = [0, 0.5641895835, 0.8462843753, 1.0293753730, 1.1629644736, 1.2672063606]
    variances = [1, 0.6816901138, 0.5594672038, 0.4917152368, 0.4475340690, 0.4159271090]
    assert [expected_largest(n) for n in range(1, 7)] == pytest.approx(means, abs=1e-10)
    assert [variance_of_largest(n) for n in range(1, 7)] == pytest.approx(variances, abs=1e-10)


@pytest.mark.parametrize("n", [0, -1])
def test_a_largest_of_nothing_is_refused(n):
    with pytest.raises(ValueError, match="at least 1"):
        variance_of_largest(n)
    with pytest.raises(ValueError, match="at least 1"):
        expected_largest(n)


@pytest.mark.parametrize(
    ("n", "ranks"), {6: (1, 6), 9: (2, 8), 10: (2, 9), 12: (3, 10), 20: (6, 15), 5: (None, None)}.items()
)
def test_the_ranks_around_a_median_are_those_of_the_published_table(n, ranks):
    # Campbell & Gardner 1988, Br Med J 296:1454-1456 (from memory): 95 % intervals of a median.
    assert quantile_ranks(n, 0.5) == ranks


@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.9])
@pytest.mark.parametrize("n", [5, 12, 28, 60])
def test_a_quantile_lies_between_its_ranks_often_enough_and_no_narrower_ranks_would_do(n, share):
    lower, upper = quantile_ranks(n, share)
    below = stats.binom(n, share)
    tails = (below.cdf(lower - 1) if lower else 0.0, below.sf(upper - 1) if upper else 0.0)
    assert max(tails) <= 0.025
    assert below.cdf(lower or 0) > 0.025
    assert below.sf((upper or n + 1) - 2) > 0.025


def test_the_interval_of_a_quantile_covers_it_in_samples_of_a_skewed_population():
    samples = np.sort(np.random.default_rng(5).lognormal(size=(4000, 28)), axis=1)
    lower, upper = quantile_ranks(28, 0.75)
    truth = stats.lognorm(1.0).ppf(0.75)
    covered = np.mean((samples[:, lower - 1] < truth) & (truth < samples[:, upper - 1]))
    assert 0.95 <= covered < 0.98
