"""Side gap formulas against the worked values of their sources.

The pair 25 and 20 is the example pair of an open package on asymmetry indices whose definitions were
read; the values follow from the definitions.
"""

import math

import pytest

from stillset_core.protocol import SideGapFormula as Formula
from stillset_core.records import Side
from stillset_core.side_gap import gap_percent

POUND_FORCE_N = 4.4482216152605  # NIST SP 811, appendix B (from memory)


def gap(formula, left, right, dominant=None):
    return gap_percent(formula, math.log(left / right), dominant)


@pytest.mark.parametrize(
    ("formula", "percent", "tolerance"),
    [
        (Formula.OF_STRONGER, 20.0, 1e-9),  # Nunn & Mayhew 1988; Impellizzeri et al. 2007 (from memory)
        (Formula.OF_DOMINANT, 20.0, 1e-9),  # complement of the limb symmetry index, transcribed second-hand
        (Formula.OF_SUM, 11.1111, 1e-4),  # bilateral asymmetry index, Kobayashi et al. 2013 (from memory)
        (Formula.OF_MEAN, 22.2222, 1e-4),  # Robinson et al. 1987 (from memory); gait form Herzog et al. 1989
        (Formula.SYMMETRY_ANGLE, 7.0447, 1e-4),  # Zifchock et al. 2008, Gait & Posture 27:622-627, second-hand
        (Formula.LOG_RATIO, 22.3144, 1e-4),  # definition
    ],
)
def test_left_25_and_right_20_give_the_published_value_and_the_swap_its_negative(formula, percent, tolerance):
    assert gap(formula, 25, 20) == pytest.approx(percent, abs=tolerance)
    if formula is not Formula.OF_DOMINANT:
        assert gap(formula, 20, 25) == pytest.approx(-percent, abs=tolerance)


@pytest.mark.parametrize(
    ("dominant", "other", "percent"),
    [(25, 20, 20.0), (20, 25, -25.0)],  # limb symmetry index 2, Schiltz 2009 (from memory)
)
def test_of_dominant_is_positive_where_the_dominant_side_is_stronger(dominant, other, percent):
    assert gap(Formula.OF_DOMINANT, dominant, other, Side.LEFT) == pytest.approx(percent, abs=1e-9)
    assert gap(Formula.OF_DOMINANT, other, dominant, Side.RIGHT) == pytest.approx(percent, abs=1e-9)
    assert gap(Formula.OF_DOMINANT, dominant, other, None) == pytest.approx(percent, abs=1e-9)


@pytest.mark.parametrize(
    ("left", "right", "angle"),
    [(20, 25, 7.0447), (25, 20, -7.0447), (10, 20, 20.4833), (200, 300, 12.5666), (9, 9, 0.0)],
)
def test_the_symmetry_angle_matches_its_paper_up_to_our_sign(left, right, angle):
    # Zifchock et al. 2008: positive where right is larger. Here positive where left is stronger.
    assert gap(Formula.SYMMETRY_ANGLE, left, right) == pytest.approx(-angle, abs=1e-4)


@pytest.mark.parametrize("formula", Formula)
def test_any_five_to_four_pair_in_any_unit_has_the_same_gap(formula):
    for left, right in [(400, 320), (25 * POUND_FORCE_N, 20 * POUND_FORCE_N)]:
        assert gap(formula, left, right) == pytest.approx(gap(formula, 25, 20), abs=1e-9)


def test_a_side_that_vanishes_is_a_gap_of_100_percent_of_the_stronger_and_of_the_sum():
    # Definition. Forces are positive, so a zero side is a limit only.
    assert gap_percent(Formula.OF_STRONGER, -math.inf) == pytest.approx(-100, abs=1e-9)
    assert gap_percent(Formula.OF_SUM, -math.inf) == pytest.approx(-100, abs=1e-9)
    assert gap_percent(Formula.SYMMETRY_ANGLE, math.inf) == pytest.approx(50, abs=1e-9)


def test_the_gap_of_the_stronger_is_about_twice_the_gap_of_the_sum():
    # Why a mark of 10 or 15 % means nothing without its formula: 20.0 against 11.1 % for one pair (computed).
    assert gap(Formula.OF_STRONGER, 25, 20) / gap(Formula.OF_SUM, 25, 20) == pytest.approx(1.8, abs=1e-9)
