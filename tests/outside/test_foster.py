"""Monotony and strain against Foster 1998, Med Sci Sports Exerc 30:1164-1168, and Foster et al. 2001.

The week of Foster et al. 2001, J Strength Cond Res 15:109-115, table 5, was read second-hand: the printed
monotony of 1.26 follows from its nine session loads with the divisor n, not from daily sums with n - 1.
"""

import numpy as np
import pytest

from stillset_core.load_pattern import monotony, strain

SESSIONS = [940, 50, 840, 280, 180, 390, 50, 390, 280]
DAYS = [940, 50, 1120, 180, 390, 50, 670]


def test_strain_is_the_sum_of_the_week_times_its_monotony_as_printed():
    assert sum(SESSIONS) == sum(DAYS) == 3400
    assert strain(DAYS) == pytest.approx(3400 * monotony(DAYS))
    # Printed: 3400 × 1.26 = 4284, with the divisor n over the nine sessions.
    assert strain(SESSIONS) * np.sqrt(9 / 8) / 3400 == pytest.approx(4284 / 3400, abs=0.005)


def test_daily_sums_have_the_monotony_of_their_divisor():
    assert monotony(DAYS) == pytest.approx(1.121723, abs=1e-6)  # divisor n - 1
    assert monotony(DAYS) * np.sqrt(7 / 6) == pytest.approx(1.211600, abs=1e-6)  # divisor n


def test_a_simple_week_can_be_followed_by_hand():
    # Mean 50, SD 57.735 with divisor n - 1 (arithmetic).
    week = [50, 0, 100, 50, 0, 150, 0]
    assert monotony(week) == pytest.approx(0.866025, abs=1e-6)
    assert strain(week) == pytest.approx(303.109, abs=1e-3)


@pytest.mark.parametrize("load", [100, 0, 0.1])
def test_equal_days_have_neither_monotony_nor_strain(load):
    assert monotony([load] * 7) is None
    assert strain([load] * 7) is None
