"""The low-pass filter: what it passes, that it does not lag, and what it does at the ends."""

import numpy as np
import pytest
from scipy import signal

from stillset_core.trace.filtering import correction, design_cutoff_hz, low_pass

SETTINGS = [(1000, 20), (100, 20), (100, 6), (200, 10), (50, 20)]


@pytest.mark.parametrize(("rate_hz", "cutoff_hz"), SETTINGS)
def test_a_sine_at_the_cutoff_keeps_its_phase_and_0_707_of_its_amplitude(rate_hz, cutoff_hz):
    at_s = np.arange(20 * rate_hz) / rate_hz
    for phase in (0.0, 1.0):
        sine = np.sin(2 * np.pi * cutoff_hz * at_s + phase)
        inner = slice(5 * rate_hz, 15 * rate_hz)
        assert low_pass(sine, rate_hz, cutoff_hz)[inner] == pytest.approx(sine[inner] / np.sqrt(2), abs=1e-6)


@pytest.mark.parametrize(("rate_hz", "cutoff_hz"), SETTINGS)
def test_each_run_is_the_textbook_recursion(rate_hz, cutoff_hz):
    # Coefficients of the critically flat second-order filter as Winter prints them (from memory).
    warped = np.tan(np.pi * cutoff_hz / rate_hz) / correction()
    k1, k2 = np.sqrt(2) * warped, warped**2
    a0 = k2 / (1 + k1 + k2)
    b1, b2 = 2 * a0 * (1 / k2 - 1), 1 - 4 * a0 - 2 * a0 * (1 / k2 - 1)
    rise, feedback = signal.butter(2, design_cutoff_hz(cutoff_hz, rate_hz), fs=rate_hz)
    assert rise == pytest.approx([a0, 2 * a0, a0], rel=1e-9)
    assert feedback == pytest.approx([1, -b1, -b2], rel=1e-9)


def test_it_agrees_with_scipy_run_both_ways():
    noise = np.random.default_rng(1).standard_normal(4000)
    rise, feedback = signal.butter(2, design_cutoff_hz(20, 1000), fs=1000)
    expected = signal.filtfilt(rise, feedback, noise, padtype="odd", padlen=300)
    assert low_pass(noise, 1000, 20) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("rate_hz", [50, 128, 1000, 5000])
def test_a_level_and_a_slope_pass_to_the_very_ends(rate_hz):
    for straight in (np.full(2 * rate_hz, 300.0), np.linspace(0, 300, 2 * rate_hz)):
        assert low_pass(straight, rate_hz, 20) == pytest.approx(straight, abs=5e-3)


def test_it_runs_the_same_backwards():
    force = np.random.default_rng(2).standard_normal(3000).cumsum()
    assert low_pass(force[::-1], 1000, 20)[::-1] == pytest.approx(low_pass(force, 1000, 20), abs=0.05)
    inner = slice(500, -500)
    assert low_pass(force[::-1], 1000, 20)[::-1][inner] == pytest.approx(low_pass(force, 1000, 20)[inner], abs=1e-9)


def test_a_trace_shorter_than_the_extension_is_filtered_all_the_same():
    assert low_pass(np.array([1.0, 1.0]), 1000, 20) == pytest.approx([1, 1])
