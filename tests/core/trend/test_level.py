import math

import pytest

from stillset_core.trend.level import level_of, weekly_percent


def test_a_level_is_shown_with_its_central_95_percent() -> None:
    level = level_of(math.log(300), 0.02**2)
    assert level.level == pytest.approx(300)
    assert level.low == pytest.approx(300 * math.exp(-0.02 * 1.959964))
    assert level.high == pytest.approx(300 * math.exp(0.02 * 1.959964))


def test_a_variance_rounded_below_zero_is_none() -> None:
    assert level_of(1.0, -1e-18).low == level_of(1.0, 0.0).high


def test_an_interval_too_wide_for_double_precision_keeps_finite_ends() -> None:
    level = level_of(math.log(300), 1e6)
    assert level.low == pytest.approx(0.0, abs=1e-300)
    assert level.level < level.high < math.inf


def test_four_weeks_of_change_are_shared_out_over_the_weeks() -> None:
    assert weekly_percent(0.04, 0.0, 28) == pytest.approx(100 * (math.exp(0.01) - 1))
    assert weekly_percent(0.04, 0.0, 14) == pytest.approx(100 * (math.exp(0.02) - 1))
