"""Reps to readings: summaries, counts of reps, and the correction to the protocol's rep count."""

import math

import pytest

from stillset_core.judging.outcome import Bound
from stillset_core.judging.reading import adjusted, bound, counted
from stillset_core.protocol import parse_protocol
from stillset_core.records import Direction, Rep, SideForce

DEFAULT = parse_protocol({})


def a_rep(left=None, right=None):
    """Build a rep from (peak, mean) or peak of each side."""
    sides = [
        None if side is None else SideForce(*(side if isinstance(side, tuple) else (side,))) for side in (left, right)
    ]
    return Rep(Direction.SQUEEZE, 5.0, *sides, intended_percent=100.0)


def test_the_worked_example_of_the_contract():
    reading = counted([a_rep((312.0, 287.0), (298.0, 271.0))], DEFAULT)
    assert (reading.left, reading.right, reading.maximal_reps) == (312.0, 298.0, 1)
    assert reading.adjusted_left == pytest.approx(322.7, abs=0.05)
    assert reading.adjusted_right == pytest.approx(308.3, abs=0.05)


def test_the_correction_is_the_difference_of_expected_best_values():
    # E_1 = 0 and E_3 = 3 / (2 sqrt(pi)), in closed form.
    expected = 312.0 * math.exp(3 / (2 * math.sqrt(math.pi)) * 0.04)
    assert adjusted(312.0, 1, DEFAULT) == pytest.approx(expected, rel=1e-12)


def test_a_best_of_more_reps_than_the_standard_is_brought_down():
    # E_6 = 1.2672063606 and E_3 = 0.8462843753, by the table of the engine's equations.
    expected = 300.0 * math.exp(-(1.2672063606 - 0.8462843753) * 0.04)
    assert adjusted(300.0, 6, DEFAULT) == pytest.approx(expected, rel=1e-9)


def test_a_best_of_the_standard_number_of_reps_stays():
    assert adjusted(300.0, 3, DEFAULT) == 300.0
    assert adjusted(300.0, 1, parse_protocol({"reps_standard": 1})) == 300.0


def test_the_spread_between_reps_can_be_overridden():
    protocol = parse_protocol({"trend": {"rep_sd": 0.08}})
    assert math.log(adjusted(300.0, 1, protocol) / 300) == pytest.approx(
        2 * math.log(adjusted(300.0, 1, DEFAULT) / 300)
    )
    assert adjusted(300.0, 1, parse_protocol({"trend": {"rep_sd": 0}})) == 300.0


def test_the_best_is_taken_for_each_side_by_itself():
    reading = counted([a_rep(300.0, 280.0), a_rep(310.0, 270.0), a_rep(290.0, 275.0)], DEFAULT)
    assert (reading.left, reading.right) == (310.0, 280.0)
    assert (reading.adjusted_left, reading.adjusted_right) == (310.0, 280.0)


def test_reps_are_counted_for_each_side():
    reading = counted([a_rep(300.0, 280.0), a_rep(310.0), a_rep(290.0)], DEFAULT)
    assert (reading.maximal_reps, reading.reps_left, reading.reps_right) == (3, 3, 1)
    assert reading.adjusted_left == 310.0
    assert reading.adjusted_right == adjusted(280.0, 1, DEFAULT)


def test_a_side_that_no_rep_measured_has_no_value():
    reading = counted([a_rep(right=280.0)], DEFAULT)
    assert (reading.left, reading.adjusted_left, reading.reps_left) == (None, None, 0)


def test_a_mean_of_reps_needs_no_correction():
    protocol = parse_protocol({"summary": "mean"})
    reading = counted([a_rep(300.0, 280.0), a_rep(320.0, 260.0)], protocol)
    assert (reading.left, reading.right) == (310.0, 270.0)
    assert (reading.adjusted_left, reading.adjusted_right) == (310.0, 270.0)


@pytest.mark.parametrize(("summary", "left"), [("best", 290.0), ("mean", 285.0)])
def test_the_value_of_a_rep_may_be_its_mean(summary, left):
    protocol = parse_protocol({"value": "mean", "summary": summary})
    assert counted([a_rep((312.0, 280.0)), a_rep((300.0, 290.0))], protocol).left == left


def test_a_bound_is_the_highest_of_each_side_without_a_correction():
    reps = [a_rep((250.0, 200.0), 190.0), a_rep((240.0, 210.0), 230.0)]
    assert bound(reps, DEFAULT) == Bound(250.0, 230.0)
    assert bound(reps, parse_protocol({"summary": "mean"})) == Bound(250.0, 230.0)
    assert bound([a_rep((250.0, 200.0)), a_rep((240.0, 210.0))], parse_protocol({"value": "mean"})) == Bound(
        210.0, None
    )


def test_a_side_without_a_mean_gives_no_value_where_the_value_is_the_mean():
    assert bound([a_rep((250.0, 200.0), 190.0)], parse_protocol({"value": "mean"})) == Bound(200.0, None)
