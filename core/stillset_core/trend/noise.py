"""The athlete's noise scale: how much noisier or steadier than usual the readings of this athlete are.

Nine scales are tried; each is weighted by its likelihood and by how far it lies from 1 in the spread of
athletes, and the scale is the weighted mean on the log scale.
"""

import numpy as np

from stillset_core.trend.filtering import log_likelihood_of
from stillset_core.trend.parameters import Parameters, model_at
from stillset_core.trend.rows import Rows

__all__ = ["noise_scale_of"]

LOG_SCALES = np.linspace(-0.75, 0.75, 9)
"""Logs of the scales that are tried."""


def noise_scale_of(rows: Rows, parameters: Parameters) -> float:
    """Noise scale kappa of one series.

    Parameters
    ----------
    rows : Rows
    parameters : Parameters
        ``noise_scale_prior_sd`` of 0 fixes the scale at 1.

    Returns
    -------
    float
    """
    spread = parameters.noise_scale_prior_sd
    if spread <= 0:
        return 1.0
    likelihoods = [log_likelihood_of(rows, parameters, model_at(parameters, scale)) for scale in np.exp(LOG_SCALES)]
    weights = np.array(likelihoods) - 0.5 * (LOG_SCALES / spread) ** 2
    shares = np.exp(weights - weights.max())
    return float(np.exp((shares * LOG_SCALES).sum() / shares.sum()))
