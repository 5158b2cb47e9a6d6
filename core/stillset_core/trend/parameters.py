"""The engine's parameters: what each one means, its default, and the form in which the loops take them.

Symbols used in this package: ``x`` the four log strengths (squeeze left, squeeze right, spread left,
spread right), ``b`` the effect common to one session, ``P`` a covariance, ``kappa`` the athlete's noise
scale, ``R`` the number of readings.
"""

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

from stillset_core.protocol import Protocol, Summary
from stillset_core.records import Quantity

__all__ = ["Model", "Parameters", "model_at", "parameters_for"]

PRIOR_MEAN = {Quantity.FORCE: 300.0, Quantity.TORQUE: 100.0, Quantity.PRESSURE: 20000.0}
"""Centre of the diffuse start, in the SI unit of each quantity."""
SMALLEST_SD = 1e-6
"""Noise and prior spread are kept above this, so that no variance vanishes."""


@dataclass(frozen=True, slots=True)
class Parameters:
    """Every parameter of the trend model, on the scale of natural logarithms.

    Attributes
    ----------
    drift_per_sqrt_day : float
        Random-walk SD per square root of a day.
    drift_correlation : float
        Correlation of the drift between the four sides.
    noise_sd : float
        SD of one side's best of three around its level, within a session.
    side_noise_correlation : float
        Correlation of the noise of left and right in the same set: they share the effort.
    session_sd : float
        SD of the effect common to a session.
    outlier_share, outlier_sd, outlier_side_correlation : float
        Share of readings that are outliers, their extra SD, and its correlation between the sides.
    rep_sd : float
        SD between maximal reps of one set.
    bound_margin : float
        Lower bounds are moved down by this many noise SDs.
    prior_mean_log, prior_sd, prior_side_correlation : float
        Start of the four levels.
    noise_scale_prior_sd : float
        Spread of the log noise scales of athletes; 0 fixes the scale at 1.
    reps_standard : int
        Number of maximal reps whose expected best is the level.
    takes_mean : bool
        Whether a value is the mean of the maximal reps instead of the best.
    """

    drift_per_sqrt_day: float = 0.006
    drift_correlation: float = 0.5
    noise_sd: float = 0.052
    side_noise_correlation: float = 0.5
    session_sd: float = 0.02
    outlier_share: float = 0.05
    outlier_sd: float = 0.20
    outlier_side_correlation: float = 0.5
    rep_sd: float = 0.04
    bound_margin: float = 2.0
    prior_mean_log: float = math.log(PRIOR_MEAN[Quantity.FORCE])
    prior_sd: float = 1.0
    prior_side_correlation: float = 0.0
    noise_scale_prior_sd: float = 0.25
    reps_standard: int = 3
    takes_mean: bool = False


def parameters_for(protocol: Protocol, quantity: Quantity) -> Parameters:
    """Defaults for a quantity, overridden by what the protocol sets.

    Parameters
    ----------
    protocol : Protocol
        ``trend``, ``reps_standard`` and ``summary`` are used.
    quantity : Quantity
        What the series measures; it decides the centre of the start.

    Returns
    -------
    engine : Parameters
        Its noise and prior spread are above zero.
    """
    parameters = Parameters(
        prior_mean_log=math.log(PRIOR_MEAN[quantity]),
        reps_standard=protocol.reps_standard,
        takes_mean=protocol.summary is Summary.MEAN,
    )
    parameters = replace(parameters, **protocol.trend.model_dump(exclude_none=True))
    return replace(
        parameters,
        noise_sd=max(parameters.noise_sd, SMALLEST_SD),
        prior_sd=max(parameters.prior_sd, SMALLEST_SD),
    )


class Model(NamedTuple):
    """The parameters at one noise scale, as the loops need them: variances, shared parts, log weights.

    Attributes
    ----------
    drift, drift_shared : float
        Variance that each level gains per day, and the part of it that all four share.
    session : float
        Variance of the session effect.
    noise_scale : float
        Square of the athlete's noise scale; it multiplies the noise variances of the readings.
    outlier, outlier_shared : float
        Extra variance of an outlier on one side, and its covariance between the sides.
    log_usual, log_outlier : float
        Logarithms of the shares of usual readings and of outliers.
    bound_noise, bound_margin : float
        Noise variance of a lower bound, and how far it is moved down.
    """

    drift: float
    drift_shared: float
    session: float
    noise_scale: float
    outlier: float
    outlier_shared: float
    log_usual: float
    log_outlier: float
    bound_noise: float
    bound_margin: float


def model_at(parameters: Parameters, noise_scale: float) -> Model:
    """Model of an athlete whose noise is `noise_scale` times the usual.

    Parameters
    ----------
    parameters : Parameters
    noise_scale : float
        kappa; multiplies the noise and the session effect, not the outliers.

    Returns
    -------
    Model
    """
    drift = parameters.drift_per_sqrt_day**2
    outlier = parameters.outlier_sd**2
    share = parameters.outlier_share
    noise_sd = noise_scale * parameters.noise_sd
    return Model(
        drift=drift,
        drift_shared=parameters.drift_correlation * drift,
        session=(noise_scale * parameters.session_sd) ** 2,
        noise_scale=noise_scale**2,
        outlier=outlier,
        outlier_shared=parameters.outlier_side_correlation * outlier,
        log_usual=math.log1p(-share),
        log_outlier=math.log(share) if share > 0 else -math.inf,
        bound_noise=noise_sd**2,
        bound_margin=parameters.bound_margin * noise_sd,
    )
