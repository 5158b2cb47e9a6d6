"""What the side gap formulas have in common."""

import math

from hypothesis import given
from hypothesis import strategies as st

from stillset_core.protocol import SideGapFormula as Formula
from stillset_core.records import Side
from stillset_core.side_gap import FORMULAS, gap_percent

log_ratios = st.floats(-3, 3)


def test_every_named_formula_of_the_protocol_has_its_function():
    assert set(FORMULAS) == set(Formula)


@given(st.sampled_from(Formula), log_ratios, log_ratios)
def test_every_formula_rises_with_the_log_ratio(formula, first, second):
    low, high = sorted((first, second))
    assert gap_percent(formula, low) <= gap_percent(formula, high)
    if high - low > 1e-6:
        assert gap_percent(formula, low) < gap_percent(formula, high)


@given(st.sampled_from(Formula), log_ratios)
def test_the_sign_is_that_of_the_stronger_side(formula, log_ratio):
    percent = gap_percent(formula, log_ratio)
    assert percent * log_ratio >= 0
    assert (percent == 0) == (log_ratio == 0) or abs(log_ratio) < 1e-300


@given(log_ratios)
def test_of_dominant_with_right_dominant_mirrors_left_dominant(log_ratio):
    right = gap_percent(Formula.OF_DOMINANT, log_ratio, Side.RIGHT)
    assert right == gap_percent(Formula.OF_DOMINANT, -log_ratio, Side.LEFT)


@given(st.sampled_from(Formula), st.floats(allow_nan=False), st.sampled_from([None, *Side]))
def test_no_log_ratio_however_large_leaves_the_finite_numbers(formula, log_ratio, dominant):
    assert math.isfinite(gap_percent(formula, log_ratio, dominant))
