"""Cautions, at and on either side of their limits; none changes a standing."""

from datetime import date, timedelta

import pytest

from stillset_core.judging.context import SetUp
from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    PainWhen,
    Quantity,
    SideForce,
    TraceFindings,
)


def only_caution(outcome):
    assert outcome.standing is Standing.COUNTS
    (caution,) = outcome.cautions
    return caution


# Pain


@pytest.mark.parametrize(("score", "shown"), [(1.0, "1"), (1.0 - 1e-10, "1"), (1.5, "1.5"), (10.0, "10")])
def test_pain_at_or_above_the_caution_score_cautions(a_set, judged_one, score, shown):
    text = f"Pain {shown} of 10 during the set; the protocol cautions from 1 of 10."
    assert only_caution(judged_one(a_set(pain=Pain(score)))) == Remark("pain-during-set", score, 1.0, text)


@pytest.mark.parametrize("pain", [None, Pain(0.0), Pain(0.9), Pain(present=False)])
def test_no_pain_or_pain_below_the_caution_score_does_not(a_set, judged_one, pain):
    assert judged_one(a_set(pain=pain)).cautions == ()


def test_pain_stated_without_a_score_cautions(a_set, judged_one):
    caution = only_caution(judged_one(a_set(pain=Pain(present=True)), pain_caution_score=4))
    assert caution == Remark("pain-during-set", "present", 4.0, "Pain during the set, without a score.")


@pytest.mark.parametrize("when", [PainWhen.AFTER, PainWhen.NEXT_DAY])
@pytest.mark.parametrize("pain", [{"score": 8.0}, {"present": True}])
def test_pain_at_another_time_does_not_caution(a_set, judged_one, when, pain):
    assert judged_one(a_set(pain=Pain(when=when, **pain))).cautions == ()


def test_a_caution_of_the_set_stands_beside_each_direction(a_rep, a_set, judged):
    reps = (a_rep(), a_rep(direction=Direction.SPREAD, hold_s=1.0))
    squeeze, spread = judged(a_set(reps=reps, pain=Pain(3.0)))
    assert squeeze.cautions == spread.cautions
    assert [squeeze.standing, spread.standing] == [Standing.COUNTS, Standing.SET_ASIDE]


# Instrument


def checked(days_before):
    """Build an instrument checked some days before the set of 2026-09-14."""
    return Instrument(InstrumentKind.FIXED_FRAME, checked_on=date(2026, 9, 14) - timedelta(days=days_before))


@pytest.mark.parametrize("days", [0, 1, 90, -1, -400])
def test_a_check_up_to_90_days_ago_or_later_than_the_set_is_in_order(a_set, judged_one, days):
    assert judged_one(a_set(instrument=checked(days))).cautions == ()


def test_a_check_91_days_ago_is_overdue(a_set, judged_one):
    text = "The instrument was last checked 91 days before; the protocol allows 90 days."
    expected = Remark("instrument-check-overdue", 91, 90.0, text)
    assert only_caution(judged_one(a_set(instrument=checked(91)))) == expected


def test_the_days_of_a_check_are_the_protocols(a_set, judged_one):
    assert only_caution(judged_one(a_set(instrument=checked(8)), instrument_check_days=7)).needed == 7.0


def test_an_instrument_said_not_to_be_zeroed_cautions(a_set, judged_one):
    record = a_set(instrument=Instrument(InstrumentKind.FIXED_FRAME, zeroed=False))
    expected = Remark("not-zeroed", "not zeroed", "zeroed", "The instrument was not zeroed before the set.")
    assert only_caution(judged_one(record)) == expected


@pytest.mark.parametrize("zeroed", [None, True])
def test_an_instrument_of_which_nothing_is_said_does_not(a_set, judged_one, zeroed):
    assert judged_one(a_set(instrument=Instrument(InstrumentKind.FIXED_FRAME, zeroed=zeroed))).cautions == ()


# Trace


LARGEST = [(Quantity.FORCE, 10.0, "N"), (Quantity.TORQUE, 3.0, "N·m"), (Quantity.PRESSURE, 400.0, "Pa")]


@pytest.mark.parametrize(("quantity", "limit", "_unit"), LARGEST)
@pytest.mark.parametrize("sign", [1, -1])
def test_an_offset_at_the_limit_is_near_zero(a_set, judged_one, quantity, limit, _unit, sign):
    record = a_set(quantity=quantity, trace=TraceFindings(sign * limit, -sign * (limit + 1e-10)))
    assert judged_one(record).cautions == ()


@pytest.mark.parametrize("largest", LARGEST)
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("side", ["left", "right"])
def test_an_offset_beyond_the_limit_cautions(a_set, judged_one, largest, sign, side):
    quantity, limit, unit = largest
    seen = sign * (limit + 0.5)
    sides = {"offset_left": 1.0, "offset_right": None, f"offset_{side}": seen}
    caution = only_caution(judged_one(a_set(quantity=quantity, trace=TraceFindings(**sides))))
    text = (
        f"The trace rests at {seen:g} {unit}; more than {limit:g} {unit} either way is not near zero."
        " It was subtracted."
    )
    assert caution == Remark("trace-offset", seen, limit, text)


# Sides and steadiness


@pytest.mark.parametrize(("measured", "missing"), [("left", "right"), ("right", "left")])
def test_a_direction_measured_on_one_side_cautions(a_rep, a_set, judged_one, measured, missing):
    outcome = judged_one(a_set(reps=(a_rep(**{missing: None}),)))
    text = f"Only the {measured} side was measured."
    assert only_caution(outcome) == Remark("one-side-only", measured, "both sides", text)
    assert getattr(outcome.reading, missing) is None


def test_sides_measured_in_different_reps_are_two_sides(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(left=None), a_rep(right=None))))
    assert outcome.cautions == ()
    assert (outcome.reading.left, outcome.reading.right) == (312.0, 298.0)


def test_one_side_is_said_of_the_direction_that_it_is_true_of(a_rep, a_set, judged):
    squeeze, spread = judged(a_set(reps=(a_rep(left=None), a_rep(direction=Direction.SPREAD))))
    assert [caution.rule for caution in squeeze.cautions] == ["one-side-only"]
    assert spread.cautions == ()


@pytest.mark.parametrize("mean", [210.0, 210.0 - 1e-8, 300.0, None])
def test_a_mean_at_or_above_70_percent_of_the_peak_is_steady(a_rep, a_set, judged_one, mean):
    assert judged_one(a_set(reps=(a_rep(left=SideForce(300.0, mean)),))).cautions == ()


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_mean_below_70_percent_of_the_peak_is_unsteady(a_rep, a_set, judged_one, side):
    caution = only_caution(judged_one(a_set(reps=(a_rep(), a_rep(**{side: SideForce(400.0, 278.0)})))))
    text = "The mean force is 69.5 % of the peak; a steady hold has at least 70 %."
    assert caution == Remark("unsteady-hold", 0.695, 0.7, text)


def test_an_unsteady_hold_that_does_not_count_is_passed_over(a_rep, a_set, judged_one):
    unsteady = a_rep(left=SideForce(400.0, 100.0), intended_percent=75.0)
    assert judged_one(a_set(reps=(a_rep(), unsteady))).cautions == ()


# Set-up


def heights(*values, standard=34.0):
    return SetUp(bar_heights=tuple((value, standard) for value in values))


def angles(*values, standard=60.0):
    return SetUp(knee_angles=tuple((value, standard) for value in values))


def drifts(outcome):
    return [caution for caution in outcome.cautions if caution.rule == "set-up-drift"]


def test_five_bar_heights_on_one_side_beyond_half_the_tolerance_drift(a_set, judged_one):
    record = a_set(position={"bar_height": 34.3})
    text = (
        "The last five bar heights all lie above the standard position's by more than half the tolerance of 0.5;"
        " the latest is 34.3, the standard 34."
    )
    outcome = judged_one(record, set_up=heights(34.4, 34.26, 34.5, 34.3))
    assert only_caution(outcome) == Remark("set-up-drift", 34.3, 34.0, text)
    below = judged_one(a_set(position={"bar_height": 33.6}), set_up=heights(33.7, 33.6, 33.7, 33.6))
    assert "all lie below the standard position's" in only_caution(below).text


@pytest.mark.parametrize(
    ("own", "before"),
    [
        (34.3, (34.3, 34.3, 34.3)),  # four only
        (34.25, (34.3, 34.3, 34.3, 34.3)),  # this one at half the tolerance
        (34.3, (34.25, 34.3, 34.3, 34.3)),
        (34.3, (33.6, 34.3, 34.3, 34.3)),  # not on one side
        (34.0, (34.3, 34.3, 34.3, 34.3, 34.3)),
    ],
)
def test_four_or_one_within_half_the_tolerance_do_not_drift(a_set, judged_one, own, before):
    assert drifts(judged_one(a_set(position={"bar_height": own}), set_up=heights(*before))) == []


def test_only_the_last_five_are_looked_at(a_set, judged_one):
    record = a_set(position={"bar_height": 34.3})
    assert drifts(judged_one(record, set_up=heights(33.6, 34.3, 34.3, 34.3, 34.3)))


def test_each_bar_height_is_held_against_the_standard_of_its_time(a_set, judged_one):
    set_up = SetUp(bar_heights=((33.4, 33.0),) * 4)
    assert drifts(judged_one(a_set(position={"bar_height": 34.4}), set_up=set_up))
    assert not drifts(judged_one(a_set(position={"bar_height": 34.4}), set_up=heights(34.0, 34.0, 34.4, 34.4)))


def test_knee_angles_drift_where_no_bar_height_is_stated(a_set, judged_one):
    record = a_set(position={"bar_height": None, "knee_angle_deg": 63.0})
    (caution,) = drifts(judged_one(record, set_up=angles(62.6, 63.0, 64.0, 65.0)))
    text = (
        "The last five knee angles all lie above the standard position's by more than half the tolerance of 5;"
        " the latest is 63, the standard 60."
    )
    assert caution == Remark("set-up-drift", 63.0, 60.0, text)
    at_half = a_set(position={"bar_height": None, "knee_angle_deg": 62.5})
    assert not drifts(judged_one(at_half, set_up=angles(63.0, 63.0, 63.0, 63.0)))


def test_bar_heights_settle_the_matter_where_there_are_any(a_set, judged_one):
    record = a_set(position={"bar_height": 34.0, "knee_angle_deg": 64.0})
    assert not drifts(judged_one(record, set_up=angles(64.0, 64.0, 64.0, 64.0)))


def test_a_set_that_a_position_rule_set_aside_takes_no_part(a_set, judged_one):
    outcome = judged_one(a_set(position={"bar_height": 35.0}), set_up=heights(34.3, 34.3, 34.3, 34.3))
    assert outcome.standing is Standing.SET_ASIDE
    assert not drifts(outcome)


def test_a_set_that_another_rule_set_aside_takes_part(a_rep, a_set, judged_one):
    record = a_set(position={"bar_height": 34.3}, reps=(a_rep(hold_s=1.0),))
    outcome = judged_one(record, set_up=heights(34.3, 34.3, 34.3, 34.3))
    assert outcome.standing is Standing.SET_ASIDE
    assert drifts(outcome)
