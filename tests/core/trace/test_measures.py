"""Measures of reps whose truth is known, over rates and noise, and where none can be given."""

from dataclasses import asdict

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from stillset_core.records import Direction, Quantity
from stillset_core.trace import SampledForce, reps_in_trace
from stillset_core.trace.measures import measures_in_trace

RATES = [50, 128, 1000, 2000]
FAST = [1000, 2000, 5000]
JUDGED = {"peak", "mean", "hold_s"}
FILTERED = {"filtered_peak", "time_to_peak_s", "steadiness_cv_percent"}
RISES = {"rfd_0_100_ms_n_per_s", "rfd_0_200_ms_n_per_s"}


def missing(side):
    return {name for name, value in asdict(side).items() if value is None}


def exponential(rate_hz, noise=0.0, seed=1, rest_s=1.0):
    """400 N approached with a time constant of 0.1 s from rest on, let go after 3 s."""
    at_s = np.arange(round((rest_s + 6) * rate_hz)) / rate_hz - rest_s
    rise = 400 * -np.expm1(-np.maximum(at_s, 0) / 0.1)
    force = np.where(at_s > 3, 400 * np.exp(-np.maximum(at_s - 3, 0) / 0.1), rise)
    return force + noise * np.random.default_rng(seed).standard_normal(force.size)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("noise", [0.0, 1.0, 2.0])
def test_a_trapezoid_has_the_measures_of_its_drawing(draw_holds, measure, rate_hz, noise):
    for seed in range(3):
        reps = measure(draw_holds(rate_hz, 300, -300, 300, noise=noise, seed=seed), rate_hz=rate_hz)
        assert [rep.direction for rep in reps] == [Direction.SQUEEZE, Direction.SPREAD, Direction.SQUEEZE]
        for number, rep in enumerate(reps):
            side = rep.left
            assert rep.findings == ()
            # Below 20 Hz are 40 of the rate_hz / 2 parts of the noise; the highest of some 100 is seen.
            assert side.filtered_peak == pytest.approx(300, abs=0.6 + 4 * noise * np.sqrt(min(40 / rate_hz, 1)))
            assert side.best_1_s_mean == pytest.approx(300, abs=1e-9 + 4 * noise / np.sqrt(rate_hz))
            assert side.impulse_n_s == pytest.approx(1125, rel=1e-6 + 0.004 * noise / np.sqrt(rate_hz / 50))
            # The rise is 300 N/s: what lies within the noise is passed in noise ÷ 300 N/s, at five deviations.
            slack = 1 / rate_hz + 1e-9 + 5 * noise / 300
            assert side.onset_s == pytest.approx(2 + 6.5 * number, abs=slack + (6 / rate_hz if noise else 0))
            assert side.hold_s == pytest.approx(3.3, abs=2.5 / rate_hz + 0.04 * noise)
            assert 1 - slack <= side.time_to_peak_s + 8 / rate_hz + 0.02
            assert side.time_to_peak_s < 4.2
            assert side.steadiness_cv_percent == pytest.approx(
                100 * noise / 300 * np.sqrt(min(40 / rate_hz, 1)), rel=0.3, abs=1e-6
            )


@pytest.mark.parametrize("rate_hz", FAST)
@pytest.mark.parametrize("noise", [0.0, 0.5, 1.5, 2.5])
def test_a_fast_rise_has_the_slopes_of_its_curve(measure, rate_hz, noise):
    # Mean slopes of 400 N (1 - exp(-t / 0.1 s)) over 0-100 and 0-200 ms, by calculus.
    slopes = []
    for seed in range(20 if noise else 1):
        (rep,) = measure(exponential(rate_hz, noise, seed), rate_hz=rate_hz)
        assert rep.findings == ()
        assert rep.left.onset_s == pytest.approx(1, abs=0.006 if noise else 1e-9)
        slopes.append((rep.left.rfd_0_100_ms_n_per_s, rep.left.rfd_0_200_ms_n_per_s))
    early, late = np.transpose(slopes)
    assert early == pytest.approx(np.full(early.size, 2528.482), abs=1e-3 + (noise > 0) * 30 + 30 * noise)
    assert late == pytest.approx(np.full(late.size, 1729.329), abs=1e-3 + 20 * noise)
    assert early.mean() == pytest.approx(2528.482, rel=0.015)


@pytest.mark.parametrize("hum_hz", [50, 60])
@pytest.mark.parametrize("rate_hz", [128, 1000, 2048])
def test_hum_leaves_the_filtered_measures_and_takes_the_rates_of_force(draw_holds, measure, rate_hz, hum_hz):
    force = draw_holds(rate_hz, 200, -200, noise=0.5)
    force += 8 * np.sin(2 * np.pi * hum_hz * np.arange(force.size) / rate_hz + 0.3)
    for rep in measure(force, rate_hz=rate_hz):
        assert rep.left.peak > 207
        assert rep.left.filtered_peak == pytest.approx(200, abs=1.5)
        assert rep.left.best_1_s_mean == pytest.approx(200, abs=0.3)
        assert rep.left.impulse_n_s == pytest.approx(750, rel=2e-3)
        assert rep.left.steadiness_cv_percent < 0.3
        assert missing(rep.left) >= RISES
        assert [finding.finding for finding in rep.findings] == ["noisy-base"]


def test_a_twitch_raises_the_filtered_peak_by_less_than_the_peak(draw_holds, measure):
    force = draw_holds(1000, 300, noise=1)
    force[4500:4505] += 60
    side = measure(force)[0].left
    assert side.peak == pytest.approx(361, abs=4)
    assert side.filtered_peak == pytest.approx(317, abs=4)
    assert side.best_1_s_mean == pytest.approx(300.3, abs=0.2)


def test_steadiness_is_the_deviation_of_the_middle_of_the_plateau(draw_holds, measure):
    tremor = 9 * np.sin(2 * np.pi * 4 * np.arange(8501) / 1000)
    force = draw_holds(1000, 300)
    side = measure(np.where(force > 290, force + tremor, force))[0].left
    # A sine of 9 N has a deviation of 9 ÷ √2; 0.99980 of 4 Hz pass a filter of 20 Hz.
    assert side.steadiness_cv_percent == pytest.approx(100 * 9 / np.sqrt(2) / 300, rel=0.01)


def test_a_spread_measures_like_the_squeeze_that_it_mirrors(draw_holds, measure):
    force = draw_holds(1000, 300, -250, noise=1)
    for rep, mirrored in zip(measure(force), measure(-force), strict=True):
        assert rep.direction is not mirrored.direction
        assert asdict(rep.left) == pytest.approx(asdict(mirrored.left))


def test_an_offset_changes_nothing(draw_holds, measure):
    force = draw_holds(1000, 300, -250, noise=1)
    for rep, moved in zip(measure(force), measure(force + 40), strict=True):
        assert asdict(rep.left) == pytest.approx(asdict(moved.left), rel=1e-4)


def test_each_side_has_its_own_measures(draw_holds, measure):
    left = draw_holds(1000, 300)
    right = np.roll(left, 120) * 0.5
    (rep,) = measure(left, right)
    assert rep.right.onset_s - rep.left.onset_s == pytest.approx(0.12, abs=0.005)
    assert rep.right.impulse_n_s == pytest.approx(rep.left.impulse_n_s / 2, rel=1e-3)
    alone = measure(None, right)[0]
    assert (alone.left, alone.right) == (None, rep.right)


def test_below_50_hz_there_are_no_filtered_measures(draw_holds, measure):
    for rate_hz, gone in ((49.9, FILTERED | RISES), (50, RISES)):
        side = measure(draw_holds(rate_hz, 300), rate_hz=rate_hz)[0].left
        assert missing(side) == gone
    for rate_hz, cutoff_hz in ((49.9, None), (50, 20.0)):
        assert measures_in_trace(SampledForce(rate_hz, np.zeros(100), None, Quantity.FORCE)).cutoff_hz == cutoff_hz


def test_below_1000_hz_there_is_no_rate_of_force(measure):
    for rate_hz, gone in ((999, RISES), (1000, set())):
        assert missing(measure(exponential(rate_hz), rate_hz=rate_hz)[0].left) == gone


def test_a_rep_of_less_than_a_second_has_no_1_s_mean_and_no_steadiness(draw, measure):
    def side(plateau_s):
        return measure(draw(1000, (2, 0), (0.01, 300), (plateau_s, 300), (0.01, 0), (2, 0)))[0].left

    assert missing(side(0.9)) == {"best_1_s_mean", "steadiness_cv_percent"}
    assert missing(side(1.1)) == {"steadiness_cv_percent"}
    assert missing(side(2.1)) == set()


def test_a_rise_that_ends_before_200_ms_has_no_rate_over_200_ms(draw, measure):
    (rep,) = measure(draw(1000, (2, 0), (0.01, 300), (0.16, 300), (0.01, 0), (2, 0)))
    assert missing(rep.left) & RISES == {"rfd_0_200_ms_n_per_s"}


def test_torque_and_pressure_have_no_measures_in_newtons(draw_holds, measure):
    force = draw_holds(1000, 300)
    for quantity, scale in ((Quantity.TORQUE, 0.3), (Quantity.PRESSURE, 40.0)):
        side = measure(force * scale, quantity=quantity)[0].left
        assert missing(side) == {"impulse_n_s"} | RISES
        assert side.filtered_peak == pytest.approx(300 * scale, rel=0.002)


def test_a_gap_or_clipping_leaves_only_what_is_judged(draw_holds, measure):
    noisy = draw_holds(1000, 300, 200, noise=3)
    lost = noisy.copy()
    lost[4000:4300] = np.nan
    for force in (np.minimum(noisy, 270), lost):
        spoilt, sound = measure(force)
        assert missing(spoilt.left) == set(asdict(spoilt.left)) - JUDGED
        assert missing(sound.left) == set()


def test_a_hold_cut_out_of_its_trace_has_no_start(measure):
    side = measure(np.full(5000, 300.0) + np.random.default_rng(1).standard_normal(5000))[0].left
    assert missing(side) == {"onset_s", "time_to_peak_s"} | RISES
    assert side.impulse_n_s == pytest.approx(1500, rel=1e-3)
    assert side.best_1_s_mean == pytest.approx(300, abs=0.2)


def test_no_rep_has_no_measures(measure):
    assert measure(np.zeros(1000)) == ()
    assert measure(np.full(1000, np.nan), np.zeros(1000)) == ()


@given(
    hnp.arrays(
        np.float64,
        st.integers(20, 200),
        elements=st.floats(-400, 400) | st.sampled_from([np.nan, 0.0, 300.0, -300.0, 1.7e308, -1.7e308, 5e-324]),
    ),
    st.sampled_from([20.0, 33.3, 200.0, 1000.0]),
    st.sampled_from(list(Quantity)),
    st.booleans(),
)
def test_any_trace_gives_finite_measures_of_the_reps_that_are_judged(samples, rate_hz, quantity, both):
    trace = SampledForce(rate_hz, samples, -samples[::-1] if both else None, quantity)
    reps, _ = reps_in_trace(trace, None)
    measured = measures_in_trace(trace).reps
    assert [(m.direction, m.started_s, m.hold_s) for m in measured] == [
        (r.direction, r.started_s, r.hold_s) for r in reps
    ]
    for rep, found in zip(reps, measured, strict=True):
        for judged, side in ((rep.left, found.left), (rep.right, found.right)):
            assert (judged is None) == (side is None)
            if side is not None:
                assert (side.peak, side.mean) == (judged.peak, judged.mean)
                assert all(value is None or np.isfinite(value) for value in asdict(side).values())
        sides = [side for side in (found.left, found.right) if side is not None]
        assert max(side.hold_s for side in sides) == rep.hold_s
        assert all(np.isfinite([finding.seen, finding.limit]).all() for finding in found.findings)
