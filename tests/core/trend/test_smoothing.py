import numpy as np
import pytest

from stillset_core.trend.parameters import Parameters, model_at
from stillset_core.trend.smoothing import Moments, moments_between, smooth

MODEL = model_at(Parameters(), 1.0)


@pytest.fixture
def filtered() -> Moments:
    rng = np.random.default_rng(3)
    roots = rng.normal(0, 0.05, size=(6, 4, 4))
    return Moments(
        np.array([0.0, 2.0, 2.0, 9.5, 30.0, 31.0]),
        5.7 + rng.normal(0, 0.05, size=(6, 4)),
        roots @ roots.transpose(0, 2, 1) + 1e-3 * np.eye(4),
    )


def test_the_last_moments_stay_as_they_are(filtered: Moments) -> None:
    smoothed = smooth(filtered, MODEL)
    assert (smoothed.mean[-1] == filtered.mean[-1]).all()
    assert (smoothed.covariance[-1] == filtered.covariance[-1]).all()


def test_the_input_is_left_alone(filtered: Moments) -> None:
    before = filtered.mean.copy(), filtered.covariance.copy()
    smooth(filtered, MODEL)
    assert (filtered.mean == before[0]).all()
    assert (filtered.covariance == before[1]).all()


def test_two_session_ends_of_one_instant_are_smoothed_to_one_level(filtered: Moments) -> None:
    smoothed = smooth(filtered, MODEL)
    assert smoothed.mean[1] == pytest.approx(smoothed.mean[2], abs=1e-12)
    assert smoothed.covariance[1] == pytest.approx(smoothed.covariance[2], abs=1e-12)


def test_between_two_ends_the_level_equals_that_of_an_inserted_end(filtered: Moments) -> None:
    day = 20.0
    drift = MODEL.drift_shared * np.ones((4, 4)) + (MODEL.drift - MODEL.drift_shared) * np.eye(4)
    inserted = Moments(
        np.insert(filtered.day, 4, day),
        np.insert(filtered.mean, 4, filtered.mean[3], axis=0),
        np.insert(filtered.covariance, 4, filtered.covariance[3] + (day - 9.5) * drift, axis=0),
    )
    between = moments_between(filtered, smooth(filtered, MODEL), day, MODEL)
    assert between == pytest.approx(smooth(inserted, MODEL).mean[4], abs=1e-12)


def test_after_the_last_end_the_level_is_the_last(filtered: Moments) -> None:
    smoothed = smooth(filtered, MODEL)
    assert (moments_between(filtered, smoothed, 40.0, MODEL) == filtered.mean[-1]).all()


def test_levels_that_cannot_drift_are_known_backwards_as_well() -> None:
    model = model_at(Parameters(drift_per_sqrt_day=0.0), 1.0)
    singular = np.ones((4, 4)) * 0.01
    filtered = Moments(np.array([0.0, 5.0]), np.array([[5.7] * 4, [5.8] * 4]), np.stack([singular, singular / 2]))
    smoothed = smooth(filtered, model)
    assert np.isfinite(smoothed.mean).all()
    assert smoothed.mean[0] == pytest.approx([5.8] * 4, abs=1e-6)
