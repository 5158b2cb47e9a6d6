"""Order statistics: what a best-of-n gains by luck alone, and between which ranks a percentile lies.

References
----------
H. L. Harter (1961), Expected values of normal order statistics, Biometrika 48, 151-165.
H. A. David and H. N. Nagaraja (2003), Order Statistics, 3rd ed., section 7.1 (from memory): intervals of quantiles.
"""

from functools import cache

import numpy as np
from scipy.special import ndtr
from scipy.stats import binom

__all__ = ["expected_largest", "quantile_ranks", "variance_of_largest"]

_HALF_WIDTH = 12.0
"""The integrals run over ±12 standard deviations; what lies beyond is below 1e-30."""
_NODES = 1201
"""Points of the trapezoidal rule. The integrands are smooth and vanish at both ends, where the rule converges
faster than any power of its step; half as many points give the same fifteen digits."""


@cache
def expected_largest(n: int) -> float:
    """Give E_n, the expected value of the largest of n independent standard normals.

    Parameters
    ----------
    n : int
        Sample size, at least 1.

    Returns
    -------
    float
        E_1 = 0, E_2 = 1/√π, E_3 = 3/(2√π), then growing slowly.

    Notes
    -----
    E_n = ∫ x n φ(x) Φ(x)^(n-1) dx, by Gauss-Legendre quadrature.
    """
    return 0.0 if n == 1 else _moment(n, 1)


@cache
def variance_of_largest(n: int) -> float:
    """Give V_n, the variance of the largest of n independent standard normals (V_1 = 1)."""
    return _moment(n, 2) - expected_largest(n) ** 2


@cache
def quantile_ranks(n: int, share: float, confidence: float = 0.95) -> tuple[int | None, int | None]:
    """Ranks between which a quantile of the population lies, whatever its distribution.

    Parameters
    ----------
    n : int
        Sample size.
    share : float
        Of the population that lies below the quantile.
    confidence : float
        At least so often the quantile lies between; beyond each end at most half of the rest.

    Returns
    -------
    tuple of (int or None, int or None)
        Ranks of the lower and the upper end, 1 being the smallest value; None for an end that so small a sample
        does not bound.

    Notes
    -----
    The number of values below the quantile is binomial(n, share). The quantile lies below the value of rank l
    with probability P(B < l), and above that of rank u with probability P(B >= u).
    """
    tail = (1 - confidence) / 2
    lower = int(binom.ppf(tail, n, share))
    upper = int(binom.ppf(1 - tail, n, share)) + 1
    return (lower if lower >= 1 else None), (upper if upper <= n else None)


def _moment(n: int, power: int) -> float:
    if n < 1:
        raise ValueError(f"n is {n}; a largest value needs n of at least 1")
    x = np.linspace(-_HALF_WIDTH, _HALF_WIDTH, _NODES)
    density = n * np.exp(-0.5 * x * x) / np.sqrt(2 * np.pi) * ndtr(x) ** (n - 1)
    return float(np.sum(x**power * density) * 2 * _HALF_WIDTH / (_NODES - 1))
