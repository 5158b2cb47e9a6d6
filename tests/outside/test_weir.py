"""Reliability against Weir 2005, J Strength Cond Res 19:231-240: one error, two very different ICCs.

Data set A was transcribed second-hand, B is from memory; its differences equal those of A, as the paper says they do.
"""

import math

import numpy as np
import pytest

from stillset_core.reliability import (
    IccForm,
    intraclass_correlations,
    mean_squares,
    minimal_detectable_change,
    sem_from_icc,
    typical_error,
    typical_error_percent,
)

A = [(146, 140), (148, 152), (170, 152), (90, 99), (157, 145), (156, 153), (176, 167), (205, 218)]
B = [(166, 160), (168, 172), (160, 142), (150, 159), (147, 135), (146, 143), (156, 147), (155, 168)]


def test_the_error_of_a_is_7_6_as_printed_and_a_change_of_20_9_is_the_smallest_to_be_detected():
    error = typical_error(A)
    assert error.value == pytest.approx(7.556927, abs=1e-6)
    assert minimal_detectable_change(error.value) == pytest.approx(20.946732, abs=1e-6)
    differences = [second - first for first, second in A]
    assert error.value == pytest.approx(np.std(differences, ddof=1) / math.sqrt(2), rel=1e-12)


def test_b_has_the_same_error_and_minimal_detectable_change():
    assert typical_error(B).value == pytest.approx(typical_error(A).value, rel=1e-12)


@pytest.mark.parametrize(
    ("table", "one_way", "agreement", "consistency"),
    [(A, 0.95005, 0.94998, 0.94702), (B, 0.5589, 0.5527, 0.5377)],
)
def test_the_correlation_depends_on_who_was_measured(table, one_way, agreement, consistency):
    found = intraclass_correlations(table)
    assert found[IccForm.ONE_WAY].value == pytest.approx(one_way, abs=1e-4)
    assert found[IccForm.AGREEMENT].value == pytest.approx(agreement, abs=1e-4)
    assert found[IccForm.CONSISTENCY].value == pytest.approx(consistency, abs=1e-4)


def test_the_mean_squares_of_a_are_as_printed():
    found = mean_squares(A)
    assert (found.between, found.error, found.trials) == pytest.approx((2098.536, 57.1071, 30.25), abs=1e-3)


@pytest.mark.parametrize("table", [A, B])
def test_the_error_from_the_correlation_is_the_typical_error_only_in_the_consistency_form(table):
    found, squares = intraclass_correlations(table), mean_squares(table)
    # The pooled SD of one trial: what ICC(3,1) takes for the whole.
    pooled = math.sqrt((squares.between + squares.error) / 2)
    assert sem_from_icc(pooled, found[IccForm.CONSISTENCY].value) == pytest.approx(typical_error(table).value)
    assert sem_from_icc(pooled, found[IccForm.ONE_WAY].value) != pytest.approx(typical_error(table).value, rel=1e-3)


def test_a_standard_error_of_5_gives_a_minimal_detectable_change_of_13_86():
    assert minimal_detectable_change(5) == pytest.approx(13.859293, abs=1e-6)


def test_the_coefficient_of_variation_of_a_comes_from_the_logarithms():
    # Method of Hopkins 2000, Sports Med 30:1-15; the value is computed.
    assert typical_error_percent(A).value == pytest.approx(5.161627, abs=1e-5)
