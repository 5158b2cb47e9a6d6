"""How the reps of a direction make its standing."""

from stillset_core.judging.outcome import Bound, Standing
from stillset_core.records import Direction, Purpose, SideForce


def rules(outcome):
    return [reason.rule for reason in outcome.reasons]


def test_standings_are_one_for_each_direction_in_the_set_squeeze_first(a_rep, a_set, judged):
    spread = a_rep(direction=Direction.SPREAD)
    assert [o.direction for o in judged(a_set(reps=(spread, a_rep(), spread)))] == ["squeeze", "spread"]
    assert [o.direction for o in judged(a_set(reps=(spread,)))] == ["spread"]


def test_bad_reps_do_not_spoil_good_ones(a_rep, a_set, judged_one):
    reps = (
        a_rep(hold_s=1.0, left=SideForce(900.0)),
        a_rep(intended_percent=50.0, left=SideForce(800.0)),
        a_rep(),
        a_rep(intended_percent=None, left=SideForce(700.0)),
    )
    outcome = judged_one(a_set(reps=reps))
    assert outcome.standing is Standing.COUNTS
    assert outcome.reasons == ()
    assert (outcome.reading.left, outcome.reading.maximal_reps) == (312.0, 1)


def test_the_standing_of_one_direction_is_no_matter_of_the_other(a_rep, a_set, judged):
    squeeze, spread = judged(a_set(reps=(a_rep(), a_rep(direction=Direction.SPREAD, hold_s=2.1))))
    assert [squeeze.standing, spread.standing] == [Standing.COUNTS, Standing.SET_ASIDE]
    assert spread.reading is None


def test_without_a_counting_rep_a_direction_is_at_least_its_highest_bound_of_each_side(a_rep, a_set, judged_one):
    reps = (
        a_rep(intended_percent=80.0, left=SideForce(250.0), right=SideForce(200.0)),
        a_rep(intended_percent=80.0, left=SideForce(240.0), right=SideForce(230.0)),
        a_rep(intended_percent=100.0, hold_s=1.0, left=SideForce(900.0)),
    )
    outcome = judged_one(a_set(reps=reps))
    assert outcome.standing is Standing.AT_LEAST
    assert outcome.reading == Bound(250.0, 230.0)


def test_a_bound_lists_only_the_at_least_rules_of_the_reps_behind_it(a_rep, a_set, judged_one):
    reps = (
        a_rep(intended_percent=None, hold_s=1.0),
        a_rep(intended_percent=80.0),
        a_rep(hold_s=11.0),
        a_rep(intended_percent=70.0),
    )
    outcome = judged_one(a_set(reps=reps))
    assert [(reason.rule, reason.seen) for reason in outcome.reasons] == [("planned-below-maximal", 80.0)]


def test_both_kinds_of_at_least_are_listed_where_both_bound(a_rep, a_set, judged_one):
    reps = (a_rep(intended_percent=None), a_rep(intended_percent=70.0))
    assert rules(judged_one(a_set(reps=reps))) == ["planned-below-maximal", "effort-unknown"]


def test_a_rep_with_reasons_of_both_kinds_is_set_aside(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(intended_percent=80.0, hold_s=2.0),)))
    assert outcome.standing is Standing.SET_ASIDE
    assert rules(outcome) == ["planned-below-maximal", "hold-too-short"]
    assert outcome.reading is None


def test_set_aside_lists_every_rule_once_with_what_was_seen_first(a_rep, a_set, judged_one):
    reps = (a_rep(hold_s=2.5), a_rep(hold_s=2.0), a_rep(hold_s=11.0, clipped=True))
    outcome = judged_one(a_set(reps=reps, position={"bar_height": 30.0}, purpose=Purpose.WARM_UP))
    assert rules(outcome) == ["bar-height-off", "warm-up", "hold-too-short", "hold-too-long", "trace-clipped"]
    assert outcome.reasons[2].seen == 2.5


def test_a_rule_about_the_set_leaves_no_rep_of_it_standing(a_rep, a_set, judged):
    reps = (a_rep(), a_rep(direction=Direction.SPREAD, intended_percent=None))
    squeeze, spread = judged(a_set(reps=reps, purpose=Purpose.WARM_UP))
    assert [squeeze.standing, spread.standing] == [Standing.SET_ASIDE, Standing.SET_ASIDE]
    assert rules(squeeze) == ["warm-up"]
    assert rules(spread) == ["warm-up", "effort-unknown"]


def test_a_bound_takes_the_mean_where_the_protocol_does(a_rep, a_set, judged_one):
    record = a_set(reps=(a_rep(intended_percent=80.0),))
    assert judged_one(record, value="mean").reading == Bound(287.0, 271.0)
