"""What a set below maximal says: the level was at least this. Each side by itself, left first.

With S_c the spread of level, session effect and noise, z = a / S_c and lambda = phi(z) / Phi(z), a
component moves the mean by P h lambda / S_c and takes P h h' P lambda (lambda + z) / S_c^2 from the
covariance: the moments of a truncated normal.
"""

import math

from stillset_core.trend.compiled import compiled
from stillset_core.trend.observation import Triple, mixed
from stillset_core.trend.parameters import Model

__all__ = ["bound_gain", "lower_tail"]

FAR_TAIL = -8.0
"""Below this z the continued fraction is used; above it erfc is exact to the last digits."""
FRACTION_TERMS = 40
"""Terms of the continued fraction; at z = -8 the rest is below 1e-16."""
LOG_ROOT_TWO_PI = 0.5 * math.log(2 * math.pi)
ROOT_HALF = math.sqrt(0.5)


@compiled
def lower_tail(z: float) -> Triple:
    """Give ln Phi(z), lambda = phi(z) / Phi(z), and lambda + z without cancellation in the far tail.

    In the far tail lambda = t + 1 / (t + 2 / (t + 3 / (t + …))) with t = -z (Laplace's continued
    fraction of Mills' ratio; Abramowitz & Stegun 1964, 26.2.14).
    """
    log_density = -0.5 * z * z - LOG_ROOT_TWO_PI
    if z > FAR_TAIL:
        share = 0.5 * math.erfc(-z * ROOT_HALF)
        slope = math.exp(log_density) / share
        return math.log(share), slope, slope + z
    tail = -z
    excess = 0.0
    for term in range(FRACTION_TERMS, 0, -1):
        excess = term / (tail + excess)
    slope = tail + excess
    return log_density - math.log(slope), slope, excess


@compiled
def bound_gain(prior: float, above: float, model: Model) -> Triple:
    """Log likelihood, g and A of a lower bound on one side, in the notation of a counting reading.

    Parameters
    ----------
    prior : float
        Variance of level plus session effect.
    above : float
        a: how far the expectation lies above the bound after its margin, in log units.
    model : Model

    Returns
    -------
    Triple
    """
    usual = prior + model.bound_noise
    wide = usual + model.outlier
    log_usual, slope, excess = lower_tail(above / math.sqrt(usual))
    log_outlier, wide_slope, wide_excess = lower_tail(above / math.sqrt(wide))
    log_sum, share = mixed(model.log_usual + log_usual, model.log_outlier + log_outlier)
    other = 1.0 - share
    gain = slope / math.sqrt(usual)
    wide_gain = wide_slope / math.sqrt(wide)
    shrink = share * slope * excess / usual + other * wide_slope * wide_excess / wide
    return log_sum, share * gain + other * wide_gain, shrink - share * other * (gain - wide_gain) ** 2
