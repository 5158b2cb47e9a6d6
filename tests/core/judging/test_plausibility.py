"""Rules of possibility: fixed limits, and never the athlete's."""

import pytest

from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import Quantity, SideForce

LIMITS = [(Quantity.FORCE, 5_000.0), (Quantity.TORQUE, 1_500.0), (Quantity.PRESSURE, 200_000.0)]


@pytest.mark.parametrize(("quantity", "limit"), LIMITS)
@pytest.mark.parametrize("side", ["left", "right"])
def test_a_peak_at_the_limit_counts(a_rep, a_set, judged_one, quantity, limit, side):
    record = a_set(quantity=quantity, reps=(a_rep(**{side: SideForce(limit + 1e-10)}),))
    assert judged_one(record).standing is Standing.COUNTS


@pytest.mark.parametrize(
    "case",
    [
        (Quantity.FORCE, 5_000.1, "Peak 5000.1 N; nothing above 5000 N per side is taken for real."),
        (Quantity.TORQUE, 1_500.01, "Peak 1500.01 N·m; nothing above 1500 N·m per side is taken for real."),
        (Quantity.PRESSURE, 2e5 + 1e-3, "Peak 200000.001 Pa; nothing above 200000 Pa per side is taken for real."),
    ],
)
@pytest.mark.parametrize("side", ["left", "right"])
def test_a_peak_above_the_limit_is_set_aside(a_rep, a_set, judged_one, case, side):
    quantity, peak, text = case
    outcome = judged_one(a_set(quantity=quantity, reps=(a_rep(**{side: SideForce(peak)}),)))
    assert outcome.standing is Standing.SET_ASIDE
    assert outcome.reasons == (Remark("out-of-range", peak, dict(LIMITS)[quantity], text),)


def test_the_higher_of_two_impossible_peaks_is_shown(a_rep, a_set, judged_one):
    outcome = judged_one(a_set(reps=(a_rep(left=SideForce(6_000.0), right=SideForce(7_000.0)),)))
    assert outcome.reasons[0].seen == 7_000.0


def test_a_surprising_but_possible_peak_counts(a_rep, a_set, judged_one):
    assert judged_one(a_set(reps=(a_rep(left=SideForce(3_000.0)),))).standing is Standing.COUNTS


@pytest.mark.parametrize("side", ["left", "right"])
def test_where_the_value_is_the_mean_a_rep_without_one_is_set_aside(a_rep, a_set, judged_one, side):
    record = a_set(reps=(a_rep(**{side: SideForce(300.0)}),))
    outcome = judged_one(record, value="mean")
    assert outcome.standing is Standing.SET_ASIDE
    text = "The rep has no mean force; the protocol's value is the mean."
    assert outcome.reasons == (Remark("no-mean", "no mean", "mean", text),)
    assert judged_one(record).standing is Standing.COUNTS


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_side_that_was_not_measured_needs_no_mean(a_rep, a_set, judged_one, side):
    assert judged_one(a_set(reps=(a_rep(**{side: None}),)), value="mean").standing is Standing.COUNTS
