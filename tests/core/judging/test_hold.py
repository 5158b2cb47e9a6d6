"""Rules of the hold, at and on either side of their limits."""

import pytest

from stillset_core.judging.outcome import Remark, Standing


@pytest.mark.parametrize("hold", [3.0, 3.0 - 1e-10, 5.0, 10.0, 10.0 + 1e-10])
def test_a_hold_within_or_at_the_limits_counts(a_rep, a_set, judged_one, hold):
    assert judged_one(a_set(reps=(a_rep(hold_s=hold),))).standing is Standing.COUNTS


@pytest.mark.parametrize(("hold", "shown"), [(2.1, "2.1"), (2.9, "2.9"), (2.99999, "2.99999"), (1.0, "1.0")])
def test_a_hold_below_3_s_is_set_aside(a_rep, a_set, judged_one, hold, shown):
    outcome = judged_one(a_set(reps=(a_rep(hold_s=hold),)))
    assert outcome.standing is Standing.SET_ASIDE
    text = f"Held {shown} s; the protocol needs at least 3.0 s."
    assert outcome.reasons == (Remark("hold-too-short", hold, 3.0, text),)
    assert outcome.reading is None


@pytest.mark.parametrize(("hold", "shown"), [(10.1, "10.1"), (10.00001, "10.00001"), (45.0, "45.0")])
def test_a_hold_above_10_s_is_set_aside(a_rep, a_set, judged_one, hold, shown):
    outcome = judged_one(a_set(reps=(a_rep(hold_s=hold),)))
    assert outcome.standing is Standing.SET_ASIDE
    text = f"Held {shown} s; the protocol allows at most 10.0 s."
    assert outcome.reasons == (Remark("hold-too-long", hold, 10.0, text),)


def test_the_limits_are_the_protocols(a_rep, a_set, judged_one):
    record = a_set(reps=(a_rep(hold_s=4.0),))
    assert judged_one(record, min_hold_s=4.5).reasons[0].needed == 4.5
    assert judged_one(record, max_hold_s=3.5).reasons[0].needed == 3.5
