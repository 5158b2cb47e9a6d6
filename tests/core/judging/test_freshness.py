"""Rules of freshness: rest within the set, and hard work before it."""

import pytest

from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import Direction, SideForce


def rules(outcome):
    return [reason.rule for reason in outcome.reasons]


def counting(outcome):
    return 0 if outcome.reading is None else outcome.reading.maximal_reps


def test_a_rest_at_the_limit_counts(a_rep, a_set, judged_one):
    reps = (a_rep(started_s=0.0), a_rep(started_s=25.0))
    assert counting(judged_one(a_set(reps=reps))) == 2


@pytest.mark.parametrize("start", [25.0 - 1e-10, 25.0, 25.1])
def test_a_rest_at_or_above_the_limit_is_enough(a_rep, a_set, judged_one, start):
    reps = (a_rep(started_s=0.0, hold_s=2.0), a_rep(started_s=start - 3.0))
    assert counting(judged_one(a_set(reps=reps))) == 1
    assert judged_one(a_set(reps=reps)).standing is Standing.COUNTS


def test_a_rest_below_the_limit_sets_the_later_rep_aside_whether_or_not_the_earlier_counted(a_rep, a_set, judged_one):
    # The first rep is too short to count, and it tires all the same.
    reps = (a_rep(started_s=0.0, hold_s=2.5), a_rep(started_s=22.25))
    outcome = judged_one(a_set(reps=reps))
    assert outcome.standing is Standing.SET_ASIDE
    text = "Rested 19.75 s; the protocol needs at least 20.0 s."
    assert outcome.reasons[1] == Remark("rest-too-short", 19.75, 20.0, text)
    assert rules(outcome) == ["hold-too-short", "rest-too-short"]


def test_rest_is_measured_from_the_end_of_the_latest_earlier_maximal_rep(a_rep, a_set, judged_one):
    reps = (a_rep(started_s=0.0), a_rep(started_s=30.0, hold_s=6.0), a_rep(started_s=55.5))
    outcome = judged_one(a_set(reps=reps))
    assert counting(outcome) == 2
    aside = judged_one(a_set(reps=(a_rep(started_s=30.0, hold_s=11.0), a_rep(started_s=60.5))))
    assert aside.reasons[1].seen == 19.5


def test_reps_are_taken_in_order_of_their_start_not_of_the_list(a_rep, a_set, judged_one):
    first, second = a_rep(started_s=0.0), a_rep(started_s=20.0, left=SideForce(400.0))
    assert judged_one(a_set(reps=(first, second))).reading == judged_one(a_set(reps=(second, first))).reading
    assert judged_one(a_set(reps=(second, first))).reading.left == 312.0


def test_the_other_direction_is_no_work_for_this_one(a_rep, a_set, judged):
    reps = (a_rep(started_s=0.0), a_rep(started_s=5.0, direction=Direction.SPREAD))
    assert [outcome.standing for outcome in judged(a_set(reps=reps))] == [Standing.COUNTS, Standing.COUNTS]


def test_only_a_maximal_rep_needs_rest_and_only_a_maximal_rep_asks_for_it(a_rep, a_set, judged_one):
    lighter_after = (a_rep(started_s=0.0), a_rep(started_s=6.0, intended_percent=75.0))
    assert counting(judged_one(a_set(reps=lighter_after))) == 1
    lighter_before = (a_rep(started_s=0.0, intended_percent=75.0), a_rep(started_s=6.0))
    assert counting(judged_one(a_set(reps=lighter_before))) == 1
    unknown_before = (a_rep(started_s=0.0, intended_percent=None), a_rep(started_s=6.0))
    assert counting(judged_one(a_set(reps=unknown_before))) == 1
    lighter = judged_one(a_set(reps=(a_rep(started_s=0.0, hold_s=1.0), a_rep(started_s=2.0, intended_percent=75.0))))
    assert rules(lighter) == ["planned-below-maximal"]


def test_reps_without_a_start_are_left_out_of_the_rest(a_rep, a_set, judged_one):
    assert counting(judged_one(a_set(reps=(a_rep(), a_rep(started_s=1.0), a_rep())))) == 3


def test_reps_that_start_together_do_not_tire_each_other(a_rep, a_set, judged_one):
    reps = (a_rep(started_s=0.0, right=None), a_rep(started_s=0.0, left=None))
    assert counting(judged_one(a_set(reps=reps))) == 2


def test_a_rep_that_starts_within_another_is_said_to_do_so(a_rep, a_set, judged_one):
    reps = (a_rep(started_s=0.0, hold_s=11.0), a_rep(started_s=4.0))
    outcome = judged_one(a_set(reps=reps))
    text = "Started before the previous maximal rep ended; the protocol needs 20.0 s of rest."
    assert outcome.reasons[1] == Remark("rest-too-short", -7.0, 20.0, text)


@pytest.mark.parametrize("prior", [0.0, 90.0, 90.0 + 1e-10])
def test_hard_seconds_before_the_set_up_to_the_limit_leave_it_fresh(a_set, judged_one, prior):
    assert judged_one(a_set(), prior_hard_s=prior).standing is Standing.COUNTS


@pytest.mark.parametrize(("prior", "shown"), [(90.1, "90.1"), (90.00001, "90.00001"), (150.0, "150")])
def test_more_hard_seconds_than_the_limit_set_the_whole_set_aside(a_rep, a_set, judged, prior, shown):
    reps = (a_rep(), a_rep(direction=Direction.SPREAD), a_rep(intended_percent=50.0))
    outcomes = judged(a_set(reps=reps), prior_hard_s=prior)
    text = f"Held hard for {shown} s earlier in the session; the protocol allows 90 s."
    reason = Remark("not-fresh", prior, 90.0, text)
    assert [outcome.standing for outcome in outcomes] == [Standing.SET_ASIDE, Standing.SET_ASIDE]
    assert all(reason in outcome.reasons for outcome in outcomes)
    assert outcomes[1].reasons == (reason,)
