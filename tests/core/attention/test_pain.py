"""Pain at the club's marks, and with falling strength."""

from datetime import date

import pytest

from stillset_core.attention.pain import pain_at_caution, pain_at_stop, pain_rising, pain_with_falling
from stillset_core.records import Direction, Pain, PainWhen, Side

FALLING = {(Direction.SQUEEZE, Side.LEFT): {}}

CHECKS = (pain_with_falling, pain_at_stop, pain_rising, pain_at_caution)


def rules(watched):
    return [item.rule for check in CHECKS for item in check(watched)]


@pytest.mark.parametrize(
    ("score", "expected"),
    # Bands 0-2, 3-5, 6-10: Thorborg et al. 2017, Br J Sports Med 51:594-599; the caution mark of 1 is the default.
    [
        (0, []),
        (0.9, []),
        (1, ["pain-at-caution"]),
        (5, ["pain-at-caution"]),
        (6, ["pain-at-stop"]),
        (10, ["pain-at-stop"]),
    ],
)
def test_a_score_at_a_mark_reaches_it(watched, a_set, score, expected):
    assert rules(watched(a_set(2, pain=Pain(score=score)))) == expected


def test_no_answer_is_not_pain_and_not_its_absence(watched, a_set):
    assert rules(watched(a_set(2))) == []
    assert rules(watched(a_set(3, pain=Pain(score=4)), a_set(2))) == ["pain-at-caution"]


def test_yes_without_a_score_cautions_but_never_stops(watched, a_set):
    athlete = watched(a_set(2, pain=Pain(present=True)), pain_stop_score=1)
    assert rules(athlete) == ["pain-at-caution"]
    assert next(iter(pain_at_caution(athlete))).text == (
        "Pain without a score during the set of 2026-09-29; force may be limited by it."
    )
    assert rules(watched(a_set(2, pain=Pain(present=False)))) == []


def test_stop_says_stop_and_refer_to_a_qualified_clinician(watched, a_set):
    pain = Pain(score=7, site="left groin", when=PainWhen.NEXT_DAY)
    (item,) = pain_at_stop(watched(a_set(2, pain=pain)))
    assert item.text == (
        "Pain 7 of 10 (left groin) the day after the set of 2026-09-29, at or above the club's stop mark of 6 of 10:"
        " stop and refer to a qualified clinician."
    )
    assert item.evidence["mark"] == 6
    assert item.weight == 7


@pytest.mark.parametrize(
    ("days", "later_zero", "expected"),
    [(14, False, True), (14.1, False, False), (7, True, True), (7.1, True, False)],
)
def test_a_stop_stands_14_days_or_7_after_a_lower_score_came(watched, a_set, days, later_zero, expected):
    sets = [a_set(days, pain=Pain(score=8)), *([a_set(1, pain=Pain(score=0))] if later_zero else [])]
    assert bool(list(pain_at_stop(watched(*sets)))) is expected


def test_caution_looks_at_the_latest_statement_of_the_last_14_days(watched, a_set):
    assert rules(watched(a_set(3, pain=Pain(score=4)), a_set(2, pain=Pain(score=0)))) == []
    assert rules(watched(a_set(14.1, pain=Pain(score=4)))) == []


def test_since_is_the_start_of_the_unbroken_run_at_the_mark(watched, a_set):
    scores = {30: 3, 20: 0, 12: 2, 8: 3, 2: 4}
    (item,) = pain_at_caution(watched(*(a_set(days, pain=Pain(score=score)) for days, score in scores.items())))
    assert item.since == date(2026, 9, 19)


def test_a_rise_by_a_point_is_said_with_both_means(watched, a_set):
    def text(before):
        sets = [a_set(30, pain=Pain(score=before)), a_set(2, pain=Pain(score=4)), a_set(1, pain=Pain(score=3))]
        return next(iter(pain_at_caution(watched(*sets)))).text

    assert "up from a mean of 2 of 10 in the six weeks before to 3.5 of 10 in the last two" in text(2)
    assert "up from" not in text(3)


def scored(a_set, scores):
    return [a_set(days, pain=Pain(score=score)) for days, score in scores.items()]


RISEN = {50: 1, 40: 1, 30: 1, 10: 2, 6: 2, 2: 2}


def test_a_mean_that_rose_by_a_point_over_weeks_replaces_the_caution(watched, a_set):
    athlete = watched(*scored(a_set, RISEN))
    assert rules(athlete) == ["pain-rising"]
    (item,) = pain_rising(athlete)
    assert item.text == (
        "Pain 2 of 10 during the set of 2026-09-29, up from a mean of 1 of 10 in the six weeks before"
        " to 2 of 10 in the last two; force may be limited by it."
    )
    assert (item.evidence["mean_last_2_weeks"], item.evidence["mean_6_weeks_before"]) == (2, 1)
    assert item.since == date(2026, 9, 21)
    assert item.weight == 1


@pytest.mark.parametrize("changed", [{2: 1.9}, {30: 0.9, 2: 1.8}, {30: None}, {10: None}])
def test_less_than_a_point_or_two_scores_on_either_side_are_no_rise_over_weeks(watched, a_set, changed):
    scores = {days: score for days, score in (RISEN | changed).items() if score is not None}
    assert rules(watched(*scored(a_set, scores))) == ["pain-at-caution"]


def test_a_rise_below_the_caution_mark_is_reported_too(watched, a_set):
    assert rules(watched(*scored(a_set, RISEN), pain_caution_score=3)) == ["pain-rising"]


def test_a_rise_with_falling_strength_or_to_the_stop_mark_is_told_by_the_stronger_item(watched, a_set, a_trend):
    sets = scored(a_set, RISEN)
    assert rules(watched(*sets, trends=[a_trend(FALLING)])) == ["pain-with-falling-strength"]
    assert rules(watched(*sets, a_set(1, pain=Pain(score=6)))) == ["pain-at-stop"]


def test_pain_with_falling_strength_is_one_item_that_replaces_the_caution(watched, a_set, a_trend):
    athlete = watched(a_set(2, pain=Pain(score=3)), trends=[a_trend(FALLING)])
    assert rules(athlete) == ["pain-with-falling-strength"]
    (item,) = pain_with_falling(athlete)
    assert (item.direction, item.side) == (Direction.SQUEEZE, Side.LEFT)
    assert item.text.endswith("while strength falls (left squeeze): ask a qualified clinician.")
    assert item.evidence["falling"] == ("left squeeze",)


def test_pain_at_the_stop_mark_with_falling_strength_says_stop_in_both(watched, a_set, a_trend):
    athlete = watched(a_set(2, pain=Pain(score=6)), trends=[a_trend(FALLING)])
    assert rules(athlete) == ["pain-with-falling-strength", "pain-at-stop"]
    assert "stop and refer to a qualified clinician" in next(iter(pain_with_falling(athlete))).text


def test_a_side_is_named_only_if_it_alone_falls(watched, a_set, a_trend):
    both = {(Direction.SQUEEZE, side): {} for side in Side}
    (item,) = pain_with_falling(watched(a_set(2, pain=Pain(score=3)), trends=[a_trend(both)]))
    assert (item.direction, item.side) == (Direction.SQUEEZE, None)


def test_no_sentence_names_a_condition_or_a_risk(watched, a_set, a_trend):
    athlete = watched(a_set(2, pain=Pain(score=8)), trends=[a_trend(FALLING)])
    texts = " ".join(item.text for check in (pain_with_falling, pain_at_stop) for item in check(athlete)).casefold()
    for word in ("injur", "strain", "tear", "risk", "diagnos", "safe", "treat"):
        assert word not in texts
