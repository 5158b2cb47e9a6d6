"""Each finding where it was drawn, with what was seen, and nowhere else."""

import numpy as np
import pytest

from stillset_core.records import Quantity
from stillset_core.trace import FLOOR
from stillset_core.trace.findings import FindingName

RATES = [50, 128, 1000, 5000]
RISES = ("rfd_0_100_ms_n_per_s", "rfd_0_200_ms_n_per_s")


def names(rep):
    return [finding.finding.value for finding in rep.findings]


def has_rates(side):
    return all(getattr(side, name) is not None for name in RISES)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("noise", [0.0, 0.5, 1.5])
def test_clean_holds_have_no_findings(draw_holds, measure, rate_hz, noise):
    force = draw_holds(rate_hz, 300, -250, 310, -260, noise=noise)
    assert [rep.findings for rep in measure(force, 0.8 * force, rate_hz)] == [()] * 4


def test_an_overshoot_a_sag_and_a_tremor_are_no_findings(draw, measure):
    force = draw(1000, (2, 0), (0.4, 360), (0.3, 290), (3, 310), (1, 235), (1, 290), (0.5, 0), (2, 0), noise=1)
    tremor = np.where(force > 200, 12 * np.sin(2 * np.pi * 9 * np.arange(force.size) / 1000), 0)
    (rep,) = measure(force + tremor)
    assert rep.findings == ()


def test_noise_is_no_spike_however_loud_and_long(draw, measure):
    (rep,) = measure(draw(5000, (2, 0), (0.5, 300), (40, 300), (0.5, 0), (2, 0), noise=12), rate_hz=5000)
    assert names(rep) == ["noisy-base"]


@pytest.mark.parametrize("hum_hz", [50, 60])
def test_hum_is_no_spike(draw_holds, measure, hum_hz):
    force = draw_holds(1000, 80, noise=0.5)
    (rep,) = measure(force + 12 * np.sin(2 * np.pi * hum_hz * np.arange(force.size) / 1000))
    assert names(rep) == ["noisy-base"]


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("height", [80, -80])
def test_a_spike_up_or_down_is_found_with_its_height(draw_holds, measure, rate_hz, height):
    force = draw_holds(rate_hz, 300, 300, noise=0.5)
    at = round(4.5 * rate_hz)
    force[at : at + max(round(0.02 * rate_hz), 1)] += height
    spoilt, sound = measure(force, rate_hz=rate_hz)
    (finding,) = spoilt.findings
    assert (finding.finding, finding.side) == ("spike", "left")
    assert finding.seen == pytest.approx(80, abs=5)
    assert finding.text.startswith(f"For less than 0.1 s the force stands {finding.seen:.1f} N out of")
    assert sound.findings == ()


def test_what_stands_out_by_less_than_a_tenth_of_the_peak_is_no_spike(draw_holds, measure):
    for height, found in ((29, []), (36, ["spike"])):
        force = draw_holds(1000, 300)
        force[4500:4520] += height
        assert names(measure(force)[0]) == found


def test_a_zero_that_drifts_is_found_beside_the_reps_where_it_is_off(draw_holds, measure):
    force = draw_holds(1000, 300, 300, 300, noise=0.5)
    drift = np.linspace(-12, 12, force.size)
    first, middle, last = measure(force + drift)
    assert [names(first), names(middle), names(last)] == [["zero-drift"], [], ["zero-drift"]]
    assert first.findings[0].seen == pytest.approx(-10, abs=2.5)
    assert last.findings[0].seen == pytest.approx(10, abs=2.5)
    assert f"{last.findings[0].seen:.1f} N off its zero" in last.findings[0].text
    assert [has_rates(rep.left) for rep in (first, middle, last)] == [False, True, False]


def test_tension_before_the_onset_is_found(draw, measure):
    def tense(force):
        return measure(draw(1000, (3, 0), (0.5, force), (1, force), (0.2, 300), (3, 300), (0.2, 0), (4, 0)))[0]

    assert names(tense(4)) == []
    assert names(tense(8)) == ["zero-drift"]
    assert tense(8).findings[0].seen == pytest.approx(8, abs=0.1)
    assert (has_rates(tense(4).left), has_rates(tense(8).left)) == (True, False)


@pytest.mark.parametrize("sign", [1, -1])
def test_a_counter_movement_is_found_with_its_depth(draw, measure, sign):
    def dipping(depth):
        return measure(
            sign * draw(1000, (2, 0), (0.05, -depth), (0.1, -depth), (0.05, 0), (0.15, 300), (3, 300), (0.3, 0), (2, 0))
        )[0]

    for depth, found in ((4, []), (12, ["counter-movement"])):
        rep = dipping(depth)
        assert names(rep) == found
        assert has_rates(rep.left) is not found
    assert dipping(12).findings[0].seen == pytest.approx(12, abs=0.5)
    assert dipping(12).findings[0].text == f"Before the onset the side dips by {dipping(12).findings[0].seen:.1f} N."


def test_a_counter_movement_does_not_move_the_onset_back(draw, measure):
    (rep,) = measure(draw(1000, (2, 0), (0.05, -12), (0.1, -12), (0.05, 0), (0.15, 300), (3, 300), (0.3, 0), (2, 0)))
    assert rep.left.onset_s == pytest.approx(2.2, abs=0.002)


def test_a_side_that_is_not_let_go_between_reps_is_found(draw, measure):
    def two(low, pause_s=2.0):
        pair = [(0.5, 300), (3, 300), (0.5, low), (pause_s, low)]
        return measure(draw(1000, (2, 0), *pair, *pair[:2], (0.5, 0), (3, 0), noise=0.5))

    assert [names(rep) for rep in two(0)] == [[], []]
    first, second = two(40)
    assert names(second)[-1] == "missing-release"
    assert second.findings[-1].seen == pytest.approx(40, abs=3)
    assert second.findings[-1].text == "The side does not rest below 20 N between reps."
    assert not has_rates(second.left)
    assert "missing-release" not in names(first)
    # Let go, but with no time to rest.
    assert [names(rep) for rep in two(0, pause_s=0.1)] == [[], ["missing-release"]]


def test_a_wait_halfway_up_a_slow_ramp_is_no_rest(draw, measure):
    # As in the one open recording of a slow, followed ramp that was looked at.
    force = draw(
        2048, (1, 0), (1, 48), (0.4, 49), (2.5, 255), (15, 240), (1, 100), (0.4, 99), (2, 0), (1, 0), noise=0.3
    )
    (rep,) = measure(force, rate_hz=2048)
    assert rep.findings == ()
    assert rep.left.onset_s == pytest.approx(1, abs=0.05)


def test_from_one_direction_straight_into_the_other_is_no_release(draw, measure):
    first, second = measure(draw(1000, (2, 0), (0.5, 300), (3, 300), (1, -300), (3, -300), (0.5, 0), (2, 0)))
    assert (names(first), names(second)) == ([], ["missing-release"])
    assert second.left.onset_s is None


def test_a_trace_that_begins_in_a_hold_has_no_rest_before_it(draw_holds, measure):
    force = draw_holds(1000, 300, 300, noise=0.5)[4000:]
    cut, whole = measure(force)
    assert names(cut) == ["no-rest-before"]
    assert cut.findings[0].text == "The trace holds no 0.2 s of rest before the rep."
    assert names(whole) == []


def test_a_base_too_noisy_for_an_onset_is_found(draw_holds, measure):
    force = draw_holds(1000, 300, noise=1)
    force[:2000] += 6 * np.random.default_rng(3).standard_normal(2000)
    (rep,) = measure(force)
    assert names(rep) == ["noisy-base"]
    assert rep.findings[0].seen == pytest.approx(5 * np.hypot(6, 1), rel=0.15)
    assert not has_rates(rep.left)


def test_clipping_and_gaps_are_found_with_their_seconds(draw_holds, measure):
    force = draw_holds(1000, 300, 200, noise=2)
    clipped, sound = measure(np.minimum(force, 270))
    assert names(clipped) == ["clipping"]
    assert clipped.findings[0].seen == pytest.approx(3.1, abs=0.1)
    assert names(sound) == []
    force[4000:4300] = np.nan
    assert [(f.finding, f.seen, f.limit) for f in measure(force)[0].findings] == [("gap", 0.3, 0.2)]


def test_a_finding_names_its_side(draw_holds, measure):
    left = draw_holds(1000, 300, noise=0.5)
    right = left.copy()
    right[4500:4520] += 80
    assert [(f.finding, f.side) for f in measure(left, right)[0].findings] == [("spike", "right")]
    right[4000:4300] = np.nan
    left[4500:4520] += 80
    found = [(f.finding, f.side) for f in measure(left, right)[0].findings]
    assert found == [("spike", "left"), ("gap", "right"), ("spike", "right")]


@pytest.mark.parametrize("quantity", Quantity)
def test_limits_go_with_the_floor_of_the_quantity(draw, measure, quantity):
    scale = FLOOR[quantity] / 20
    force = draw(1000, (3, 0), (0.5, 8), (1, 8), (0.2, 300), (3, 300), (0.2, 0), (4, 0)) * scale
    (finding,) = measure(force, quantity=quantity)[0].findings
    assert (finding.finding, finding.limit) == (FindingName.ZERO_DRIFT, 5 * scale)
    assert {"N": "8.0 N off", "N.m": "2.4 N·m off", "Pa": "320.0 Pa off"}[quantity] in finding.text
