"""Filter, onset and measures of a force trace against textbook formulas, calculus and geometry."""

import numpy as np
import pytest
from scipy import signal

from stillset_core.records import Quantity
from stillset_core.trace import SampledForce
from stillset_core.trace.filtering import correction, design_cutoff_hz
from stillset_core.trace.measures import measures_in_trace
from stillset_core.trace.onset import Signal, onsets


def measured(force, rate_hz):
    (rep,) = measures_in_trace(SampledForce(rate_hz, force, None, Quantity.FORCE)).reps
    return rep.left


def exponential(rate_hz):
    """400 N (1 - exp(-t / 0.1 s)) from t = 1 s on, let go after 3 s."""
    at_s = np.arange(6 * rate_hz) / rate_hz - 1
    return np.where(at_s < 3, 400 * -np.expm1(-np.maximum(at_s, 0) / 0.1), 0)


@pytest.mark.parametrize("rate_hz", [50, 1000])
def test_the_impulse_of_a_trapezoid_is_the_area_under_its_curve(rate_hz):
    # 0 to 300 N in 1 s, 3 s held, 0.5 s down: 150 + 900 + 75 = 1125 N·s (geometry).
    at_s = np.arange(9 * rate_hz) / rate_hz
    force = np.interp(at_s, [2, 3, 6, 6.5], [0, 300, 300, 0])
    assert measured(force, rate_hz).impulse_n_s == pytest.approx(1125, rel=1e-3)


def test_the_impulse_of_a_planned_hold_is_force_times_time():
    # 3 holds of 5 s at 300 N are 4500 N·s (definition); here as a trace, with edges of 1 ms.
    at_s = np.arange(26 * 1000) / 1000
    corners = np.array([0, 0.001, 5.0, 5.001])
    force = sum(np.interp(at_s, begin + corners, [0, 300, 300, 0]) for begin in (2, 10, 18))
    reps = measures_in_trace(SampledForce(1000, force, None, Quantity.FORCE)).reps
    assert sum(rep.left.impulse_n_s for rep in reps) == pytest.approx(4500, rel=1e-3)


@pytest.mark.parametrize(("order", "expected"), [(1, 0.643594), (2, 0.802243), (4, 0.895680)])
def test_the_correction_of_two_passes_is_the_textbook_factor(order, expected):
    # C = (2^(1/p) - 1)^(1/(2n)): Winter, Biomechanics and Motor Control of Human Movement; Robertson & Dowling 2003,
    # J Electromyogr Kinesiol 13:569-573 (from memory).
    assert correction(order, passes=2) == pytest.approx(expected, abs=1e-6)


DESIGNS = [  # rate, cutoff, cutoff of each pass; and what plain division by 0.802 would pass: computed with scipy
    (1000, 20, 24.911965, 0.707712),
    (100, 20, 23.425114, 0.779071),
    (100, 6, 7.430885, 0.712626),
    (200, 10, 12.409009, 0.710921),
]


def gain_of_two_passes(design_hz, rate_hz, at_hz):
    rise, feedback = signal.butter(2, design_hz, fs=rate_hz)
    _, response = signal.freqz(rise, feedback, worN=[at_hz], fs=rate_hz)
    return float(abs(response[0]) ** 2)


@pytest.mark.parametrize(("rate_hz", "cutoff_hz", "design_hz", "plain"), DESIGNS)
def test_two_passes_let_0_707_through_at_the_cutoff(rate_hz, cutoff_hz, design_hz, plain):
    # f' = (fs/π)·atan(tan(π·fc/fs)/C), on the pre-warped frequency (Winter; Robertson & Dowling 2003, from memory).
    assert design_cutoff_hz(cutoff_hz, rate_hz) == pytest.approx(design_hz, abs=1e-6)
    assert gain_of_two_passes(design_cutoff_hz(cutoff_hz, rate_hz), rate_hz, cutoff_hz) == pytest.approx(
        0.70710678, abs=1e-6
    )
    assert gain_of_two_passes(cutoff_hz, rate_hz, cutoff_hz) == pytest.approx(0.5, abs=1e-6)
    assert gain_of_two_passes(cutoff_hz / correction(), rate_hz, cutoff_hz) == pytest.approx(plain, abs=1e-6)


@pytest.mark.parametrize(("rate_hz", "tolerance"), [(1000, 0.1), (50, 1)])
def test_the_best_second_of_a_half_sine_is_0_900316_of_its_peak(rate_hz, tolerance):
    # 300 N sin(π t / 2 s): the mean of the middle second is 300 · 2√2/π = 270.0949 N (calculus).
    at_s = np.arange(6 * rate_hz) / rate_hz
    force = 300 * np.where((at_s > 2) & (at_s < 4), np.sin(np.pi * (at_s - 2) / 2), 0)
    assert measured(force, rate_hz).best_1_s_mean == pytest.approx(270.0949, abs=tolerance)


@pytest.mark.parametrize("rate_hz", [1000, 2000])
def test_the_rates_of_an_exponential_rise_are_its_mean_slopes(rate_hz):
    # 400 N (1 - exp(-t / 0.1 s)): 4000 (1 - 1/e) = 2528.482 N/s over 100 ms, 1729.329 N/s over 200 ms (calculus).
    side = measured(exponential(rate_hz), rate_hz)
    assert side.rfd_0_100_ms_n_per_s == pytest.approx(2528.482, rel=0.005)
    assert side.rfd_0_200_ms_n_per_s == pytest.approx(1729.329, rel=0.005)


def test_an_exponential_rise_passes_20_n_when_it_should_and_is_walked_back_to_where_it_began():
    # -0.1 s · ln(1 - 20/400) = 5.1293 ms after it begins at 1 s (calculus).
    force = exponential(1000)
    resting = np.arange(force.size) < 900
    found = onsets(Signal(force, resting, 1000), np.array([[1010, 4000]]), np.array([0]), floor=20)
    assert found.left_at[0] / 1000 == pytest.approx(1.0051, abs=0.002)
    assert found.at[0] / 1000 == pytest.approx(1.0, abs=0.002)
    assert measured(force, 1000).onset_s == pytest.approx(1.0, abs=0.002)
