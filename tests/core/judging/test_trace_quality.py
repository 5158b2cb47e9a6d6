"""Rules of the trace."""

from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import Direction, TraceFindings


def test_a_clipped_rep_is_set_aside(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(clipped=True),)))
    assert outcome.standing is Standing.SET_ASIDE
    text = "The trace stays at its extreme for 0.25 s or more, as at the end of the instrument's range."
    assert outcome.reasons == (Remark("trace-clipped", "clipped", "not clipped", text),)


def test_a_rep_with_a_gap_is_set_aside_and_its_neighbour_counts(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(gap=True),)))
    assert outcome.standing is Standing.SET_ASIDE
    text = "More than 0.2 s of the trace are missing within the rep."
    assert outcome.reasons == (Remark("trace-gap", "longer", 0.2, text),)
    assert judged_one(a_set(reps=(a_rep(gap=True), a_rep()))).standing is Standing.COUNTS


def test_a_trace_without_a_rep_sets_both_directions_aside(a_set, judged):
    outcomes = judged(a_set(reps=(), trace=TraceFindings(0.0, 0.0)))
    reason = Remark("no-rep-found", 0, 1, "No rep was found in the trace.")
    assert [outcome.direction for outcome in outcomes] == [Direction.SQUEEZE, Direction.SPREAD]
    assert all(outcome.standing is Standing.SET_ASIDE for outcome in outcomes)
    assert all(outcome.reasons == (reason,) and outcome.cautions == () for outcome in outcomes)


def test_what_else_was_wrong_with_a_set_without_a_rep_is_said_too(a_set, judged):
    outcomes = judged(a_set(reps=(), position={"bar_height": 30.0}))
    assert [reason.rule for reason in outcomes[0].reasons] == ["bar-height-off", "no-rep-found"]
