"""Rules of position, at and on either side of their limits."""

import pytest

from stillset_core.judging.outcome import Remark, Standing


def test_a_set_in_the_standard_position_counts_without_a_word(a_set, judged_one):
    outcome = judged_one(a_set())
    assert outcome.standing is Standing.COUNTS
    assert outcome.reasons == ()
    assert outcome.cautions == ()


def test_a_set_before_any_standard_position_is_set_aside_for_that_alone(a_set, judged_one):
    outcome = judged_one(a_set(position={"knee_angle_deg": 10.0, "bar_height": None}), standard=None)
    assert outcome.standing is Standing.SET_ASIDE
    assert outcome.reasons == (
        Remark(
            "no-standard-position",
            "none",
            "a standard position",
            "No standard position was on file for this athlete when the set was done.",
        ),
    )


def test_another_position_name_is_set_aside(a_set, judged_one):
    outcome = judged_one(a_set(position={"name": "supine-straight"}))
    assert outcome.standing is Standing.SET_ASIDE
    assert outcome.reasons == (
        Remark(
            "other-position",
            "supine-straight",
            "supine-bent-knee",
            "Done in the position supine-straight; the standard position is supine-bent-knee.",
        ),
    )


def test_another_foot_mark_is_set_aside(a_set, judged_one):
    outcome = judged_one(a_set(position={"foot_mark": "D"}))
    assert outcome.reasons == (Remark("other-position", "D", "C", "Foot mark D; the standard position has C."),)


@pytest.mark.parametrize(("of_set", "of_standard"), [(None, "C"), ("C", None), (None, None), ("C", "C")])
def test_a_foot_mark_counts_only_where_both_state_one(a_set, a_standard, judged_one, of_set, of_standard):
    outcome = judged_one(a_set(position={"foot_mark": of_set}), standard=a_standard(foot_mark=of_standard))
    assert outcome.standing is Standing.COUNTS


def test_a_wrong_name_and_a_wrong_foot_mark_are_one_reason(a_set, judged_one):
    outcome = judged_one(a_set(position={"name": "seated", "foot_mark": "D"}))
    assert [(reason.rule, reason.seen) for reason in outcome.reasons] == [("other-position", "seated")]


@pytest.mark.parametrize("angle", [55.0, 60.0, 65.0, 65.0 + 1e-10, 55.0 - 1e-10])
def test_a_knee_angle_within_or_at_the_tolerance_counts(a_set, judged_one, angle):
    assert judged_one(a_set(position={"knee_angle_deg": angle})).standing is Standing.COUNTS


@pytest.mark.parametrize(("angle", "shown"), [(54.9, "54.9"), (65.1, "65.1"), (65.00001, "65.00001"), (70.0, "70")])
def test_a_knee_angle_beyond_the_tolerance_is_set_aside(a_set, judged_one, angle, shown):
    outcome = judged_one(a_set(position={"knee_angle_deg": angle}))
    assert outcome.standing is Standing.SET_ASIDE
    text = f"Knee angle {shown}°; the standard position has 60°, within 5°."
    assert outcome.reasons == (Remark("knee-angle-off", angle, 60.0, text),)


def test_limits_are_compared_as_decimals(a_set, a_standard, judged_one):
    # In binary 34.7 - 34.4 is a little more than 0.3.
    assert 34.7 - 34.4 > 0.3
    outcome = judged_one(
        a_set(position={"bar_height": 34.7}),
        standard=a_standard(bar_height=34.4),
        bar_height_tolerance=0.3,
    )
    assert outcome.standing is Standing.COUNTS


@pytest.mark.parametrize("height", [33.5, 34.0, 34.5])
def test_a_bar_height_within_or_at_the_tolerance_counts(a_set, judged_one, height):
    assert judged_one(a_set(position={"bar_height": height})).standing is Standing.COUNTS


@pytest.mark.parametrize(("height", "shown"), [(33.4, "33.4"), (34.6, "34.6"), (-34.0, "-34")])
def test_a_bar_height_beyond_the_tolerance_is_set_aside(a_set, judged_one, height, shown):
    outcome = judged_one(a_set(position={"bar_height": height}))
    text = f"Bar height {shown}; the standard position has 34, within 0.5."
    assert outcome.standing is Standing.SET_ASIDE
    assert outcome.reasons == (Remark("bar-height-off", height, 34.0, text),)


def test_a_fitting_bar_height_does_not_excuse_the_angle_nor_the_reverse(a_set, judged_one):
    assert [r.rule for r in judged_one(a_set(position={"knee_angle_deg": 90.0})).reasons] == ["knee-angle-off"]
    assert [r.rule for r in judged_one(a_set(position={"bar_height": 30.0})).reasons] == ["bar-height-off"]
    both = judged_one(a_set(position={"knee_angle_deg": 90.0, "bar_height": 30.0}))
    assert [r.rule for r in both.reasons] == ["knee-angle-off", "bar-height-off"]


@pytest.mark.parametrize(
    "stated",
    [{"knee_angle_deg": None}, {"bar_height": None}],
)
def test_one_fitting_pair_is_enough_where_the_other_is_not_stated(a_set, a_standard, judged_one, stated):
    assert judged_one(a_set(position=stated)).standing is Standing.COUNTS
    assert judged_one(a_set(), standard=a_standard(**stated)).standing is Standing.COUNTS


@pytest.mark.parametrize(
    ("of_set", "of_standard"),
    [
        ({"knee_angle_deg": None, "bar_height": None}, {}),
        ({}, {"knee_angle_deg": None, "bar_height": None}),
        ({"knee_angle_deg": None}, {"bar_height": None}),
        ({"bar_height": None}, {"knee_angle_deg": None}),
    ],
)
def test_without_a_pair_stated_by_both_the_position_is_unverified(a_set, a_standard, judged_one, of_set, of_standard):
    outcome = judged_one(a_set(position=of_set), standard=a_standard(**of_standard))
    assert outcome.standing is Standing.SET_ASIDE
    text = "Neither a knee angle nor a bar height is stated by both the set and the standard position."
    assert outcome.reasons == (Remark("position-unverified", "neither", "knee angle or bar height", text),)


def test_hip_angle_and_arms_are_recorded_only(a_set, a_standard, judged_one):
    outcome = judged_one(
        a_set(position={"hip_angle_deg": 45.0, "arms": "crossed"}),
        standard=a_standard(hip_angle_deg=0.0, arms="beside"),
    )
    assert outcome.standing is Standing.COUNTS
