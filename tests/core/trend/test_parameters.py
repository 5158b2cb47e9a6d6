import math

import pytest

from stillset_core.protocol import EngineOverrides, Protocol, Summary
from stillset_core.records import Quantity
from stillset_core.trend.parameters import Parameters, model_at, parameters_for


@pytest.mark.parametrize(
    ("quantity", "centre"), [(Quantity.FORCE, 300.0), (Quantity.TORQUE, 100.0), (Quantity.PRESSURE, 20000.0)]
)
def test_the_start_lies_where_the_quantity_usually_does(quantity: Quantity, centre: float) -> None:
    assert parameters_for(Protocol(), quantity).prior_mean_log == pytest.approx(math.log(centre))


def test_every_override_of_the_protocol_arrives() -> None:
    overrides = dict.fromkeys(EngineOverrides.model_fields, 0.123)
    parameters = parameters_for(Protocol(trend=EngineOverrides(**overrides)), Quantity.FORCE)
    assert {name: getattr(parameters, name) for name in overrides} == overrides


def test_the_protocol_chooses_rep_count_and_summary() -> None:
    parameters = parameters_for(Protocol(reps_standard=5, summary=Summary.MEAN), Quantity.FORCE)
    assert (parameters.reps_standard, parameters.takes_mean) == (5, True)


def test_a_vanishing_noise_is_kept_above_zero() -> None:
    overrides = EngineOverrides(noise_sd=1e-300, prior_sd=1e-300)
    parameters = parameters_for(Protocol(trend=overrides), Quantity.FORCE)
    assert parameters.noise_sd == parameters.prior_sd == 1e-6


def test_the_noise_scale_multiplies_noise_and_session_but_not_outliers_and_drift() -> None:
    usual, noisy = model_at(Parameters(), 1.0), model_at(Parameters(), 2.0)
    assert noisy.session == pytest.approx(4 * usual.session)
    assert noisy.noise_scale == pytest.approx(4 * usual.noise_scale)
    assert noisy.bound_noise == pytest.approx(4 * usual.bound_noise)
    assert noisy.bound_margin == pytest.approx(2 * usual.bound_margin)
    assert (noisy.outlier, noisy.outlier_shared) == (usual.outlier, usual.outlier_shared)
    assert (noisy.drift, noisy.drift_shared) == (usual.drift, usual.drift_shared)


def test_no_outliers_means_an_impossible_second_component() -> None:
    model = model_at(Parameters(outlier_share=0.0), 1.0)
    assert (model.log_usual, model.log_outlier) == (0.0, -math.inf)
