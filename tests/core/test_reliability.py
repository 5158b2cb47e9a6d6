"""Reliability of tables of trials: what must hold for any table, and what is refused."""

import math

import numpy as np
import pytest

from stillset_core.reliability import (
    IccForm,
    intraclass_correlations,
    mean_squares,
    minimal_detectable_change,
    percent_of,
    sd_with_interval,
    sem_from_icc,
    typical_error,
    typical_error_about_zero,
    typical_error_percent,
)

TABLE = [(300.0, 312.0), (250.0, 241.0), (410.0, 424.0), (330.0, 321.0), (290.0, 300.0)]


def test_a_change_of_everybody_is_no_typical_error_but_an_error_about_zero():
    shifted = [(first, second + 50) for first, second in TABLE]
    assert typical_error(shifted).value == pytest.approx(typical_error(TABLE).value)
    assert typical_error_about_zero(shifted).value > 2 * typical_error_about_zero(TABLE).value


def test_errors_in_percent_do_not_depend_on_the_unit():
    tenfold = [(10 * first, 10 * second) for first, second in TABLE]
    assert typical_error_percent(tenfold).value == pytest.approx(typical_error_percent(TABLE).value)


def test_correlations_do_not_depend_on_unit_or_zero():
    moved = [(2 * first + 30, 2 * second + 30) for first, second in TABLE]
    before, after = intraclass_correlations(TABLE), intraclass_correlations(moved)
    for form in IccForm:
        assert after[form].value == pytest.approx(before[form].value)
        assert (after[form].low, after[form].high) == pytest.approx((before[form].low, before[form].high))
        assert before[form].low < before[form].value < before[form].high


def test_the_interval_of_an_sd_holds_it_and_narrows_with_its_degrees_of_freedom():
    # chi-square with 10 degrees of freedom: 3.24697 and 20.48318 (tables).
    few = sd_with_interval(1.0, 10, 11)
    assert (few.low, few.high) == pytest.approx((math.sqrt(10 / 20.48318), math.sqrt(10 / 3.24697)), rel=1e-5)
    many = sd_with_interval(1.0, 1000, 1001)
    assert few.low < many.low < 1 < many.high < few.high
    assert sd_with_interval(1.0, 2.5, 5).high > sd_with_interval(1.0, 3.5, 5).high


@pytest.mark.parametrize("seed", range(3))
def test_intervals_of_simulated_people_hold_the_true_error_and_correlation_as_often_as_they_say(seed):
    rng = np.random.default_rng(seed)
    held = {"error": 0, **dict.fromkeys(IccForm, 0)}
    true = {IccForm.ONE_WAY: 0.8, IccForm.AGREEMENT: 0.8, IccForm.CONSISTENCY: 0.8}
    true |= {form: 3 * 0.8 / (1 + 2 * 0.8) for form in IccForm if form not in true}
    for _ in range(200):
        table = 2 * rng.normal(size=(12, 1)) + rng.normal(size=(12, 3))
        error = typical_error(table)
        held["error"] += error.low <= 1 <= error.high
        for form, found in intraclass_correlations(table).items():
            held[form] += found.low <= true[form] <= found.high
    # 95 % of 200 with a standard error of 3.1: five of them.
    assert all(abs(count - 190) <= 15.5 for count in held.values()), held
    # ICC(2) allows for judges who differ, which these do not.
    assert held[IccForm.AGREEMENT] >= 180


def test_people_who_repeat_exactly_correlate_fully():
    found = intraclass_correlations([(1, 1), (2, 2), (5, 5)])
    assert {(one.value, one.low, one.high) for one in found.values()} == {(1.0, 1.0, 1.0)}
    assert typical_error([(1, 1), (2, 2), (5, 5)]).high == 0


def test_people_who_do_not_differ_have_no_correlation():
    assert intraclass_correlations([(1, 2), (1, 2), (1, 2)]) == {}
    assert intraclass_correlations([(1, 1), (1, 1)]) == {}


def test_no_correlation_is_given_that_is_not_a_number():
    # Trials that cross over: the mean of two would agree with nothing.
    for table in ([(1, 2.1), (2, 1)], [(1, 0.9), (0.9, 1), (1, 1)], [(0, 1), (1, 0), (0.1, 1)]):
        for found in intraclass_correlations(table).values():
            assert all(math.isfinite(end) for end in (found.value, found.low, found.high))


@pytest.mark.parametrize("table", [[(1, 2)], [(1,), (2,)], [1, 2, 3], [(1, 2), (3, math.nan)]])
def test_a_table_that_is_too_small_or_not_finite_is_refused(table):
    with pytest.raises(ValueError, match="at least two people"):
        mean_squares(table)


def test_a_value_without_a_logarithm_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        typical_error_percent([(1, 2), (3, 0)])


def test_a_change_against_many_readings_is_detected_sooner_than_against_one():
    assert minimal_detectable_change(1.0, 1.0) == pytest.approx(math.sqrt(2))
    assert minimal_detectable_change(1.0, 1.0, against=3) == pytest.approx(math.sqrt(4 / 3))


def test_a_correlation_above_one_leaves_no_error_and_a_huge_log_stays_a_number():
    assert sem_from_icc(10, 1.0000001) == 0
    assert math.isfinite(percent_of(1e6))
