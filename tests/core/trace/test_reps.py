"""Reps found in synthetic traces whose truth is known, with the blemishes that real ones have."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from stillset_core.records import Direction, Quantity
from stillset_core.trace import FLOOR, SampledForce, reps_in_trace

RATES = [20, 50, 128, 1000, 5000]


def drawn(rate_hz, *pieces, noise=0.0, seed=1):
    """A force drawn as straight lines through (seconds, newtons) steps from 0, with normal noise."""
    times = np.concatenate(([0.0], np.cumsum([seconds for seconds, _ in pieces])))
    forces = np.concatenate(([0.0], [force for _, force in pieces]))
    places = np.arange(round(times[-1] * rate_hz)) / rate_hz
    return np.interp(places, times, forces) + noise * np.random.default_rng(seed).standard_normal(places.size)


def hold(force, rest=2.0, plateau=3.0):
    """2 s of rest, a rise of 1 s, a plateau, a fall of 0.5 s: a trapezoid."""
    return [(rest, 0), (1, force), (plateau, force), (0.5, 0)]


def found(left=None, right=None, rate_hz=1000, quantity=Quantity.FORCE, intended=None):
    return reps_in_trace(SampledForce(rate_hz, left, right, quantity), intended)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("noise", [0.0, 1.5])
def test_a_trapezoid_is_one_rep_with_its_peak_hold_and_mean(rate_hz, noise):
    # A rise to 300 N in 1 s, 3 s there, a fall in 0.5 s: above 240 N for 0.2 + 3 + 0.1 s, in which the impulse is
    # 0.3 s x 270 N + 3 s x 300 N = 981 N s of the 1125 N s of the whole (areas, by hand).
    force = drawn(rate_hz, *hold(300), (2, 0), noise=noise)
    assert np.trapezoid(force, dx=1 / rate_hz) == pytest.approx(1125, rel=0.01)
    (rep,), findings = found(force, rate_hz=rate_hz)
    assert rep.direction is Direction.SQUEEZE
    assert rep.left.peak == pytest.approx(300, abs=5 * noise + 1e-9)
    assert rep.hold_s == pytest.approx(3.3, abs=2.5 / rate_hz + 0.02 * noise)
    assert rep.left.mean * rep.hold_s == pytest.approx(981, rel=0.015)
    assert rep.started_s == pytest.approx(2.2, abs=1.5 / rate_hz + 0.02)
    assert findings.offset_left == pytest.approx(0, abs=0.5)
    assert (rep.right, findings.offset_right) == (None, None)
    assert (rep.clipped, rep.gap) == (False, False)


def test_the_impulse_of_a_constant_force_is_force_times_time():
    force = drawn(1000, (2, 0), (0.001, 250), (5, 250), (0.001, 0), (2, 0))
    (rep,), _ = found(force)
    assert rep.left.mean * rep.hold_s == pytest.approx(250 * 5, rel=1e-3)


@pytest.mark.parametrize("rate_hz", RATES)
def test_three_pairs_are_six_reps_in_order_and_positive(rate_hz):
    pieces = [piece for force in (310, -250, 305, -255, 300, -260) for piece in hold(force)]
    left = drawn(rate_hz, *pieces, (2, 0), noise=1)
    right = drawn(rate_hz, *pieces, (2, 0), noise=1, seed=2) * 0.9
    reps, _ = found(left, right, rate_hz, intended=95.0)
    assert [rep.direction for rep in reps] == [Direction.SQUEEZE, Direction.SPREAD] * 3
    assert [rep.left.peak for rep in reps] == pytest.approx([310, 250, 305, 255, 300, 260], abs=5)
    assert [rep.right.peak for rep in reps] == pytest.approx([279, 225, 274.5, 229.5, 270, 234], abs=5)
    assert [rep.started_s for rep in reps] == pytest.approx([2.2 + 6.5 * place for place in range(6)], abs=0.1)
    assert [rep.intended_percent for rep in reps] == [95.0] * 6
    assert all(rep.left.mean <= rep.left.peak and rep.right.mean <= rep.right.peak for rep in reps)


def test_the_sides_of_one_effort_are_one_rep_though_one_lags():
    left = drawn(1000, *hold(300), (3, 0))
    right = drawn(1000, *hold(200, rest=2.4, plateau=2.5), (3.1, 0))
    (rep,), _ = found(left, right)
    assert (rep.left.peak, rep.right.peak) == pytest.approx((300, 200))
    assert rep.hold_s == pytest.approx(3.3, abs=0.01)
    assert rep.started_s == pytest.approx(2.2, abs=0.01)


def test_two_efforts_of_one_side_under_one_of_the_other_are_one_rep():
    left = drawn(1000, (2, 0), (0.5, 300), (8, 300), (0.5, 0), (2, 0))
    right = drawn(1000, (2, 0), (0.5, 200), (3, 200), (0.5, 0), (1, 0), (0.5, 250), (3, 250), (0.5, 0), (2, 0))
    (rep,), _ = found(left, right)
    assert rep.right.peak == pytest.approx(250)


def test_a_side_that_stays_below_the_floor_took_no_part():
    left, right = drawn(1000, *hold(300), (2, 0)), drawn(1000, *hold(15), (2, 0))
    (rep,), _ = found(left, right)
    assert rep.right is None


def test_opposite_directions_at_the_same_time_are_two_reps():
    force = drawn(1000, *hold(300), (2, 0))
    reps, _ = found(force, -force)
    assert [(rep.direction, rep.left is None, rep.right is None) for rep in reps] == [
        (Direction.SQUEEZE, False, True),
        (Direction.SPREAD, True, False),
    ]


@pytest.mark.parametrize("rate_hz", [128, 1000, 2048, 5000])
@pytest.mark.parametrize("hum_hz", [50, 60])
def test_mains_hum_does_not_cut_a_hold(rate_hz, hum_hz):
    force = drawn(rate_hz, *hold(80), *hold(-80), (2, 0), noise=0.5)
    hum = 8 * np.sin(2 * np.pi * hum_hz * np.arange(force.size) / rate_hz + 0.3)
    reps, findings = found(force + hum, rate_hz=rate_hz)
    assert [rep.direction for rep in reps] == [Direction.SQUEEZE, Direction.SPREAD]
    assert [rep.left.peak for rep in reps] == pytest.approx([88, 88], abs=3)
    assert findings.offset_left == pytest.approx(0, abs=1.5)


def test_hum_above_the_floor_at_rest_is_no_rep():
    hum = 30 * np.sin(2 * np.pi * 50 * np.arange(5000) / 1000)
    assert found(hum)[0] == ()


def test_an_overshoot_a_sag_and_a_tremor_leave_one_hold():
    force = drawn(1000, (2, 0), (0.4, 360), (0.3, 290), (3, 310), (1, 235), (1, 290), (0.5, 0), (2, 0), noise=2)
    tremor = np.where(force > 200, 12 * np.sin(2 * np.pi * 9 * np.arange(force.size) / 1000), 0)
    (rep,), _ = found(force + tremor)
    assert rep.left.peak == pytest.approx(366, abs=12)


def test_a_twitch_above_the_plateau_leaves_one_hold():
    force = drawn(1000, *hold(300), (2, 0), noise=1)
    force[4500:4530] += 60
    (rep,), _ = found(force)
    assert rep.left.peak == pytest.approx(360, abs=5)
    assert rep.hold_s == pytest.approx(3.05, abs=0.05)


def test_a_slow_rise_and_fall_without_rest_leaves_the_peak_nearly_whole():
    # The shape of the one open recording of such a contraction that was looked at: 4.5 s up, 21 s, 4.5 s down.
    force = drawn(2048, (4.5, 280), (0.3, 270), (21, 265), (4.5, 0), noise=1)
    for offset in (0.0, 14.0, -14.0):
        (rep,), _ = found(force + offset, rate_hz=2048)
        assert rep.left.peak == pytest.approx(283, rel=0.03)


@pytest.mark.parametrize("seconds", [0.05, 0.12])
def test_a_short_blow_is_no_rep(seconds):
    force = drawn(1000, (2, 0), (0.001, 100), (seconds, 100), (0.001, 0), (2, 0))
    assert found(force)[0] == ()


def test_a_dip_above_a_fifth_of_the_peak_leaves_one_rep_and_one_below_makes_two():
    def dipping(low):
        return drawn(1000, (2, 0), (0.5, 500), (3, 500), (0.5, low), (1, low), (0.5, 450), (3, 450), (0.5, 0), (2, 0))

    assert len(found(dipping(110))[0]) == 1
    first, second = found(dipping(85))[0]
    assert (first.left.peak, second.left.peak) == pytest.approx((500, 450))
    assert second.started_s == pytest.approx(7.02, abs=0.06)


def test_a_dip_of_less_than_a_fifth_of_a_second_leaves_one_rep():
    force = drawn(1000, (2, 0), (0.5, 300), (3, 300), (0.01, 0), (0.1, 0), (0.01, 300), (3, 300), (0.5, 0), (2, 0))
    (rep,), _ = found(force)
    assert rep.hold_s == pytest.approx(6.2, abs=0.05)


@pytest.mark.parametrize("quantity", Quantity)
def test_a_rep_rises_above_the_floor_of_its_quantity(quantity):
    floor = FLOOR[quantity]
    shape = drawn(1000, (2, 0), (0.5, 1), (3, 1), (0.5, 0), (2, 0))
    assert len(found(shape * floor * 1.01, quantity=quantity)[0]) == 1
    assert found(shape * floor * 0.99, quantity=quantity)[0] == ()


def test_the_floors_keep_the_proportions_of_the_physical_limits():
    limits = {Quantity.FORCE: 5000, Quantity.TORQUE: 1500, Quantity.PRESSURE: 200_000}
    assert {quantity: FLOOR[quantity] / limit for quantity, limit in limits.items()} == dict.fromkeys(Quantity, 0.004)


def test_rest_alone_has_no_rep():
    for force in (np.zeros(100), drawn(1000, (5, 0), noise=3), np.full(100, 12.0), np.tile([1.0, 2.0], 50)):
        reps, findings = found(force)
        assert reps == ()
        assert findings.offset_left == pytest.approx(np.median(force), abs=0.01)


def test_a_side_of_lost_samples_only_has_no_rep():
    force = drawn(1000, *hold(300), (2, 0))
    (rep,), findings = found(np.full(force.size, np.nan), force)
    assert rep.left is None
    assert rep.right.peak == pytest.approx(300)
    assert findings.offset_left is None
    assert rep.gap is False
    assert found(np.full(1000, np.nan))[0] == ()


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("offset", [0, 9, -9, 15, -15, 40, -40, 59])
def test_an_offset_is_found_and_taken_off(rate_hz, offset):
    force = drawn(rate_hz, *hold(300), *hold(-300), (2, 0), noise=1) + offset
    reps, findings = found(force, rate_hz=rate_hz)
    assert findings.offset_left == pytest.approx(offset, abs=0.5)
    assert [rep.left.peak for rep in reps] == pytest.approx([300, 300], abs=5)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("offset", [-60, -25, -21, -15, 15, 25])
def test_rest_off_zero_is_no_rep_of_the_other_direction(sign, offset):
    force = drawn(1000, *hold(300 * sign), *hold(250 * sign), (2, 0), noise=1) + offset
    reps, findings = found(force)
    assert len({rep.direction for rep in reps}) == 1
    assert [rep.left.peak for rep in reps] == pytest.approx([300, 250], abs=5)
    assert findings.offset_left == pytest.approx(offset, abs=0.5)


def test_a_trace_too_noisy_to_rest_still_has_its_reps():
    force = drawn(20, *hold(300), *hold(300), (2, 0), noise=12) + 5
    reps, findings = found(force, rate_hz=20)
    assert [rep.direction for rep in reps] == [Direction.SQUEEZE] * 2
    assert findings.offset_left == pytest.approx(5, abs=8)


def test_a_trace_that_sways_at_rest_still_has_its_reps():
    force = drawn(1000, *hold(300), *hold(-300), (2, 0))
    reps, findings = found(force + 14 * np.sin(2 * np.pi * np.arange(force.size) / 1000))
    assert [rep.direction for rep in reps] == [Direction.SQUEEZE, Direction.SPREAD]
    assert findings.offset_left == pytest.approx(0, abs=10)


def test_each_side_has_its_own_offset():
    force = drawn(1000, *hold(300), (2, 0))
    (rep,), findings = found(force + 30, force - 20)
    assert (findings.offset_left, findings.offset_right) == pytest.approx((30, -20))
    assert (rep.left.peak, rep.right.peak) == pytest.approx((300, 300))


def test_a_trace_that_rests_far_off_zero_is_brought_to_its_rest():
    force = drawn(1000, *hold(300), *hold(320), *hold(-310), (2, 0), noise=1) + 120
    reps, findings = found(force)
    assert findings.offset_left == pytest.approx(120, abs=1)
    assert [rep.left.peak for rep in reps] == pytest.approx([300, 320, 310], abs=5)


def test_a_hold_that_was_cut_out_of_its_trace_keeps_its_force():
    constant = np.full(5000, 300.0)
    tiring = np.linspace(300, 240, 5000)
    rising = np.concatenate((np.linspace(80, 300, 800), np.full(4000, 300.0)))
    for force in (constant, tiring, rising):
        (rep,), findings = found(force)
        assert (rep.left.peak, findings.offset_left) == (300.0, 0.0)
    (rep,), _ = found(constant)
    assert (rep.hold_s, rep.started_s, rep.clipped) == (5.0, 0.0, False)


def test_a_bare_trapezoid_keeps_its_force():
    (rep,), findings = found(drawn(1000, (1, 300), (3, 300), (0.5, 0)))
    assert findings.offset_left == pytest.approx(0, abs=4)
    assert rep.left.peak == pytest.approx(300, abs=4)


def test_a_drifting_zero_makes_no_rep():
    force = drawn(1000, *hold(300), *hold(300), (2, 0), noise=1)
    reps, _ = found(force + np.linspace(-15, 15, force.size))
    assert len(reps) == 2


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize(("lost_s", "gap"), [(0.1, False), (0.2, False), (0.25, True), (1.0, True)])
def test_a_loss_of_more_than_a_fifth_of_a_second_within_a_rep_is_a_gap(rate_hz, lost_s, gap):
    force = drawn(rate_hz, *hold(300), (2, 0), noise=1)
    begin = round(4 * rate_hz)
    force[begin : begin + int(lost_s * rate_hz)] = np.nan
    (rep,), _ = found(force, rate_hz=rate_hz)
    assert rep.gap is gap
    assert rep.hold_s == pytest.approx(3.3, abs=0.1)


def test_one_sample_more_than_a_fifth_of_a_second_is_a_gap():
    for samples, gap in ((200, False), (201, True)):
        force = drawn(1000, *hold(300), (2, 0))
        force[4000 : 4000 + samples] = np.nan
        assert found(force)[0][0].gap is gap


def test_a_short_loss_is_bridged_linearly():
    whole = drawn(1000, *hold(300), (2, 0))
    for begin in (2100, 2900, 4000, 6050):
        force = whole.copy()
        force[begin : begin + 100] = np.nan
        (rep,), _ = found(force)
        (same,), _ = found(whole)
        assert rep.hold_s == pytest.approx(same.hold_s, abs=0.06)
        assert rep.left.peak == pytest.approx(same.left.peak, abs=1e-6)
    force = whole.copy()
    force[2900:3000] = np.nan  # on the rise, where the bridge is the rise itself
    assert found(force)[0][0].left.mean == pytest.approx(found(whole)[0][0].left.mean, abs=0.01)


def test_a_loss_outside_reps_is_no_gap():
    force = drawn(1000, *hold(300), *hold(300), (2, 0))
    force[:800] = np.nan
    force[7000:8000] = np.nan
    force[-300:] = np.nan
    reps, _ = found(force)
    assert [rep.gap for rep in reps] == [False, False]


def test_a_gap_on_one_side_is_a_gap_of_the_rep():
    left = drawn(1000, *hold(300), (2, 0))
    right = left.copy()
    right[4000:4500] = np.nan
    assert found(left, right)[0][0].gap
    right[1800:6800] = np.nan
    (rep,), _ = found(left, right)
    assert (rep.gap, rep.right) == (True, None)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("sign", [1, -1])
def test_samples_that_stand_still_at_the_extreme_for_a_quarter_of_a_second_are_clipped(rate_hz, sign):
    noisy = drawn(rate_hz, *hold(300), (2, 0), noise=3)
    clipped = np.minimum(noisy, 270)
    (rep,), _ = found(sign * clipped, rate_hz=rate_hz)
    assert rep.clipped
    (rep,), _ = found(sign * noisy, rate_hz=rate_hz)
    assert not rep.clipped


def test_a_quarter_of_a_second_is_where_clipping_begins():
    for samples, clipped in ((249, False), (250, True)):
        force = drawn(1000, *hold(300), (2, 0), noise=3)
        force[4000 : 4000 + samples] = force.max() + 1
        assert found(force)[0][0].clipped is clipped


def test_only_the_rep_that_is_clipped_is_marked():
    force = np.minimum(drawn(1000, *hold(300), *hold(200), (2, 0), noise=3), 270)
    assert [rep.clipped for rep in found(force)[0]] == [True, False]
    assert [rep.clipped for rep in found(force * 0.5, force)[0]] == [True, False]


def test_a_rest_that_stands_still_is_no_clipping():
    lively = np.random.default_rng(1).normal(300, 3, 4000)
    for sign in (1, -1):
        (rep,), _ = found(sign * np.concatenate((np.zeros(2000), lively, np.zeros(2000))))
        assert not rep.clipped


def test_standing_still_below_the_extreme_is_no_clipping():
    force = drawn(1000, *hold(300), (2, 0), noise=3)
    force[4000:4500] = 290
    assert not found(force)[0][0].clipped


def test_a_smooth_bulge_cut_flat_is_clipped():
    bulge = 400 * np.sin(np.linspace(0, np.pi, 5000))
    (rep,), _ = found(np.minimum(bulge, 350))
    assert rep.clipped


@pytest.mark.parametrize("rest_s", [0.5, 2, 20])
def test_a_smooth_wave_cut_flat_is_clipped_however_long_the_rests_are(rest_s):
    wave = np.minimum(300 + 20 * np.sin(np.arange(5000) / 600), 310)
    bulge = np.minimum(400 * np.sin(np.linspace(0, np.pi, 5000)), 350)
    rest = np.zeros(int(1000 * rest_s))
    for force in (wave, bulge, -wave):
        (rep,), _ = found(np.concatenate((rest, force, rest)))
        assert rep.clipped


def test_a_noise_free_trace_proves_no_clipping():
    box = np.concatenate((np.zeros(2000), np.full(4000, 300.0), np.zeros(2000)))
    ramped = drawn(1000, *hold(300), (2, 0))
    for force in (box, ramped, *(np.concatenate((one, share * one)) for one in (box, ramped) for share in (0.9, -0.9))):
        reps, _ = found(force)
        assert [rep.clipped for rep in reps] == [False] * (force.size // 8000)


@given(
    hnp.arrays(
        np.float64,
        st.integers(20, 200),
        elements=st.floats(-400, 400) | st.sampled_from([np.nan, 0.0, 300.0, -300.0, 1.7e308, -1.7e308, 5e-324]),
    ),
    st.sampled_from([20.0, 33.3, 200.0]),
    st.sampled_from(list(Quantity)),
    st.booleans(),
)
def test_any_trace_gives_finite_reps_in_order(samples, rate_hz, quantity, both):
    reps, findings = found(samples, -samples[::-1] if both else None, rate_hz, quantity)
    assert (findings.offset_left is None) == np.isnan(samples).all()
    assert [rep.started_s for rep in reps] == sorted(rep.started_s for rep in reps)
    for rep in reps:
        assert 0 < rep.hold_s <= samples.size / rate_hz
        for side in (rep.left, rep.right):
            assert side is None or 0 < side.mean <= side.peak < np.inf
        assert rep.left is not None or rep.right is not None
