"""Error of one reading from pairs of near readings, a few of which are outliers.

Letters: ``P`` pairs. Everything is on the scale of natural logarithms.

Each difference is normal with variance f s² + drift, f being the noise of its two readings against that of
the standard reading, unless one or both readings were outliers. The share of outliers is estimated together
with s, starting from what the engine expects, as if that had been seen in `PRIOR_PAIRS` pairs. A pair weighs
as much as it is likely to be usual, so that one wild reading has no say.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

__all__ = ["Outliers", "PairedError", "Pairs", "paired_error"]

PRIOR_PAIRS = 20.0
NORMAL_MEDIAN = 0.4549
"""Median of a chi-square with one degree of freedom."""
SMALLEST_VARIANCE = 1e-10
SMALLEST_SD = 1e-4
"""An error below 0.01 % is none: the pairs differ by no more than the drift alone would make them."""
STEPS, TOLERANCE = 300, 1e-8


@dataclass(frozen=True, slots=True)
class Pairs:
    """Differences of P pairs, no reading in two of them.

    Attributes
    ----------
    difference : (P,) array
        Later less earlier log value.
    noise : (P,) array
        Noise variance of both readings over that of one standard reading: 2 for two standard ones.
    drift : (P,) array
        Variance of the true change in between.
    athlete : (P,) int array
        Whose pair it is.
    """

    difference: NDArray[np.float64]
    noise: NDArray[np.float64]
    drift: NDArray[np.float64]
    athlete: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Outliers:
    """Expected share of readings that are outliers, and their extra SD."""

    share: float
    sd: float


@dataclass(frozen=True, slots=True)
class PairedError:
    """SD of one standard reading.

    Attributes
    ----------
    log_sd : float
    degrees_of_freedom : float
        Of the chi-square that its square resembles; not whole.
    mean_change : float
        Mean log change from the earlier to the later reading, which is no part of the error.
    usual : (P,) array
        Probability that no reading of the pair was an outlier.
    """

    log_sd: float
    degrees_of_freedom: float
    mean_change: float
    usual: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _State:
    variance: float
    mean: float
    outlying: float


def paired_error(pairs: Pairs, outliers: Outliers) -> PairedError | None:
    """Estimate the error of one reading.

    Parameters
    ----------
    pairs : Pairs
        At least three.
    outliers : Outliers
        What is expected of single readings before any is seen.

    Returns
    -------
    PairedError or None
        None where the differences are no larger than the drift, or hold less than one degree of freedom.

    Notes
    -----
    s and the mean solve Σ w ∂ ln N(d; mean, f s² + drift) = 0, w the probability of a usual pair: the score
    of the usual part of the mixture, which is zero on average whatever the outliers are. The degrees of
    freedom are half the observed information about ln s, net of what the share of outliers takes (Louis 1982),
    less one each for mean and share, and divided by the design effect of pairs of one athlete, which scatter
    alike. In simulated squads the 95 % interval held the truth in 90 % of cases at 5 to 15 pairs and in 93 to
    96 % from forty on. Athletes who scatter more than most are partly taken for outliers: s is
    that of the usual athlete, not the root of the mean square.

    References
    ----------
    Louis 1982, J R Stat Soc B 44:226-233 (from memory): information of a mixture.
    """
    state = _solved(pairs, outliers)
    if state.variance < SMALLEST_SD**2:
        return None
    usual = _usual(pairs, outliers, state)
    degrees_of_freedom = _degrees_of_freedom(pairs, state, usual)
    if degrees_of_freedom < 1:
        return None
    return PairedError(float(np.sqrt(state.variance)), degrees_of_freedom, state.mean, usual)


def _solved(pairs: Pairs, outliers: Outliers) -> _State:
    middle = float(np.median(pairs.difference))
    spread = float(np.median((pairs.difference - middle) ** 2)) / NORMAL_MEDIAN / float(pairs.noise.mean())
    state = _State(max(spread, SMALLEST_SD**2), middle, _expected(outliers))
    for _ in range(STEPS):
        after = _step(pairs, outliers, state)
        settled = abs(after.variance - state.variance) <= TOLERANCE * state.variance
        state = after
        if settled:
            break
    return state


def _step(pairs: Pairs, outliers: Outliers, state: _State) -> _State:
    """One scoring step of variance and mean, and the share of outliers at the present weights."""
    usual = _usual(pairs, outliers, state)
    total = float(usual.sum())
    variance = state.variance * pairs.noise + pairs.drift
    weight = usual * pairs.noise / variance**2
    # The mean is estimated too: squares are enlarged as in an SD with n - 1.
    squares = (pairs.difference - state.mean) ** 2 * (total / max(total - 1, 0.5))
    change = float((weight * (squares - variance)).sum() / max((weight * pairs.noise).sum(), SMALLEST_VARIANCE))
    return _State(
        variance=max(state.variance + change, SMALLEST_VARIANCE),
        mean=float(np.average(pairs.difference, weights=usual / variance)) if total > 0 else state.mean,
        outlying=(usual.size - total + PRIOR_PAIRS * _expected(outliers)) / (usual.size + PRIOR_PAIRS),
    )


def _expected(outliers: Outliers) -> float:
    """Give the expected share of pairs with an outlier."""
    return 1 - (1 - outliers.share) ** 2


def _usual(pairs: Pairs, outliers: Outliers, state: _State) -> NDArray[np.float64]:
    """Probability of each pair that neither reading was an outlier."""
    if state.outlying <= 0:
        return np.ones_like(pairs.difference)
    variance = state.variance * pairs.noise + pairs.drift
    squares = (pairs.difference - state.mean) ** 2
    both = outliers.share**2 / _expected(outliers)
    one_or_two = np.logaddexp(
        np.log1p(-both) + _log_normal(squares, variance + outliers.sd**2),
        np.log(both) + _log_normal(squares, variance + 2 * outliers.sd**2),
    )
    odds = np.log1p(-state.outlying) - np.log(state.outlying) + _log_normal(squares, variance) - one_or_two
    return np.asarray(expit(odds), dtype=np.float64)


def _log_normal(squares: NDArray[np.float64], variance: NDArray[np.float64]) -> NDArray[np.float64]:
    return -0.5 * (np.log(variance) + squares / variance)


def _degrees_of_freedom(pairs: Pairs, state: _State, usual: NDArray[np.float64]) -> float:
    """Degrees of freedom left after drift, outliers and the likeness of pairs of one athlete."""
    variance = state.variance * pairs.noise + pairs.drift
    share = state.variance * pairs.noise / variance
    score = share * ((pairs.difference - state.mean) ** 2 / variance - 1)
    unsure = usual * (1 - usual)
    about_error = float((2 * usual * share**2 - unsure * score**2).sum())
    about_share = (usual.size + PRIOR_PAIRS) * state.outlying * (1 - state.outlying) - float(unsure.sum())
    crossed = float((unsure * score).sum())
    if about_error <= 0 or usual.sum() <= 2:
        return 0.0
    left = about_error - (crossed**2 / about_share if about_share > 0 else 0.0)
    return 0.5 * left * (1 - 2 / float(usual.sum())) / (1 + _likeness(pairs, usual * score) / about_error)


def _likeness(pairs: Pairs, score: NDArray[np.float64]) -> float:
    """Sum of the products of scores of different pairs of one athlete, never below none."""
    _, whose = np.unique(pairs.athlete, return_inverse=True)
    of_athletes = np.bincount(whose, weights=score)
    products = float((of_athletes**2).sum() - (score**2).sum())
    return max(products, 0.0) * of_athletes.size / max(of_athletes.size - 1, 1)
