"""Rules of effort: what was not planned as maximal is a lower bound."""

import pytest

from stillset_core.judging.effort import is_maximal
from stillset_core.judging.outcome import Bound, Remark, Standing
from stillset_core.protocol import Protocol


@pytest.mark.parametrize("percent", [95.0, 95.0 - 1e-10, 100.0, 120.0])
def test_a_rep_planned_at_or_above_the_limit_is_maximal(a_rep, a_set, judged_one, percent):
    rep = a_rep(intended_percent=percent)
    assert is_maximal(rep, Protocol())
    assert judged_one(a_set(reps=(rep,))).standing is Standing.COUNTS


@pytest.mark.parametrize(("percent", "shown"), [(94.9, "94.9"), (80.0, "80"), (0.0, "0")])
def test_a_rep_planned_below_the_limit_is_a_lower_bound(a_rep, a_set, judged_one, percent, shown):
    outcome = judged_one(a_set(reps=(a_rep(intended_percent=percent),)))
    assert outcome.standing is Standing.AT_LEAST
    text = f"Planned at {shown} % of maximal; the protocol counts 95 % and above as maximal."
    assert outcome.reasons == (Remark("planned-below-maximal", percent, 95.0, text),)
    assert outcome.reading == Bound(312.0, 298.0)


def test_an_unknown_effort_is_never_taken_for_maximal(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(intended_percent=None),)))
    assert outcome.standing is Standing.AT_LEAST
    text = "No planned effort was stated; the protocol counts 95 % and above as maximal."
    assert outcome.reasons == (Remark("effort-unknown", "not stated", 95.0, text),)


def test_an_unknown_effort_stays_unknown_when_the_limit_is_zero(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(intended_percent=None),)), min_intended_percent=0)
    assert outcome.standing is Standing.AT_LEAST
