"""What a counting reading says: left and right at once, as a mixture of a usual reading and an outlier.

With H the selector of level plus session effect on both sides, U = P H' and, for each component c of
the mixture, S_c = H P H' + R_c and g_c = S_c^-1 v, the moments after the reading are

    m + U g,    P - U A U',    g = sum w_c g_c,    A = sum w_c S_c^-1 - sum w_c (g_c - g)(g_c - g)',

which is the collapsed mixture of the components' own updates written as one update of rank two.
"""

import math

from stillset_core.trend.compiled import compiled
from stillset_core.trend.parameters import Model

__all__ = ["Pair", "Triple", "counting_gain", "mixed"]

Pair = tuple[float, float]
"""Left and right."""
Triple = tuple[float, float, float]
"""Left, right, and what lies between them, of a symmetric 2 by 2 matrix."""

LOG_TWO_PI = math.log(2 * math.pi)


@compiled
def mixed(log_usual: float, log_outlier: float) -> Pair:
    """Log of the sum of two components given by their logs, and the share of the first."""
    if log_usual >= log_outlier:
        ratio = math.exp(log_outlier - log_usual)
        return log_usual + math.log1p(ratio), 1.0 / (1.0 + ratio)
    ratio = math.exp(log_usual - log_outlier)
    return log_outlier + math.log1p(ratio), ratio / (1.0 + ratio)


@compiled
def _component(spread: Triple, residual: Pair) -> tuple[float, Pair, Triple]:
    """Log density (without 2 pi), S^-1 v and S^-1 of one Gaussian component."""
    left, right, between = spread
    determinant = left * right - between * between
    inverse = (right / determinant, left / determinant, -between / determinant)
    gain = (
        inverse[0] * residual[0] + inverse[2] * residual[1],
        inverse[2] * residual[0] + inverse[1] * residual[1],
    )
    distance = residual[0] * gain[0] + residual[1] * gain[1]
    return -0.5 * (distance + math.log(determinant)), gain, inverse


@compiled
def counting_gain(
    prior: Triple, noise: Triple, residual: Pair, measured: tuple[bool, bool], model: Model
) -> tuple[float, Pair, Triple]:
    """Log likelihood, g and A of a counting reading.

    Parameters
    ----------
    prior : Triple
        H P H': variance of level plus session effect.
    noise : Triple
        Noise variances and covariance of the reading at the athlete's noise scale.
    residual : Pair
        v, reading minus expectation.
    measured : pair of bool
        Sides that were measured; the other one has no influence and takes none.
    model : Model

    Returns
    -------
    tuple of (float, Pair, Triple)
    """
    has_left, has_right = measured
    left = prior[0] + noise[0] if has_left else 1.0
    right = prior[1] + noise[1] if has_right else 1.0
    both = has_left and has_right
    between = prior[2] + noise[2] if both else 0.0
    seen = (residual[0] if has_left else 0.0, residual[1] if has_right else 0.0)
    log_usual, usual, usual_inverse = _component((left, right, between), seen)
    wide = (
        left + (model.outlier if has_left else 0.0),
        right + (model.outlier if has_right else 0.0),
        between + (model.outlier_shared if both else 0.0),
    )
    log_outlier, outlier, outlier_inverse = _component(wide, seen)
    log_sum, share = mixed(model.log_usual + log_usual, model.log_outlier + log_outlier)
    other = 1.0 - share
    apart = (usual[0] - outlier[0], usual[1] - outlier[1])
    gain = (share * usual[0] + other * outlier[0], share * usual[1] + other * outlier[1])
    weight = share * other
    shrink_left = share * usual_inverse[0] + other * outlier_inverse[0] - weight * apart[0] * apart[0]
    shrink_right = share * usual_inverse[1] + other * outlier_inverse[1] - weight * apart[1] * apart[1]
    shrink_between = share * usual_inverse[2] + other * outlier_inverse[2] - weight * apart[0] * apart[1]
    sides = (1 if has_left else 0) + (1 if has_right else 0)
    return (
        log_sum - 0.5 * sides * LOG_TWO_PI,
        gain,
        (shrink_left if has_left else 0.0, shrink_right if has_right else 0.0, shrink_between),
    )
