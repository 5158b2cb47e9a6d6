"""The ratio squeeze ÷ spread against its definition and against another interval method."""

import math
from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from stillset_core.balance import balance_of
from stillset_core.protocol import Protocol
from stillset_core.records import InstrumentKind, Quantity
from stillset_core.series import SeriesKey

NOW = datetime(2026, 9, 30, tzinfo=UTC)
Z = 1.959964


def ratio(squeeze, spread, squeeze_se=1.0, spread_se=1.0, covariance=0.0):
    """Ratio of two strengths in N with their standard errors in N, by the log method."""
    shared = covariance / (squeeze * spread)
    joint = np.zeros((4, 4))
    joint[0, 0], joint[2, 2] = (squeeze_se / squeeze) ** 2, (spread_se / spread) ** 2
    joint[0, 2] = joint[2, 0] = shared
    trend = SimpleNamespace(
        key=SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE),
        as_of=NOW,
        mean=np.log([squeeze, squeeze, spread, spread]),
        covariance=joint,
        history=SimpleNamespace(at=(NOW,), mean=np.zeros((1, 4)), seen=np.ones((1, 4), dtype=bool)),
    )
    return balance_of(trend, Protocol(), None).ratio_left


def fieller(a, b, s_a, s_b, s_ab):
    """Interval of a ÷ b as the roots of Fieller 1954, J R Stat Soc B 16:175-185 (formula from memory)."""
    lead, middle, last = b**2 - (Z * s_b) ** 2, a * b - Z**2 * s_ab, a**2 - (Z * s_a) ** 2
    root = math.sqrt(middle**2 - lead * last)
    return (middle - root) / lead, (middle + root) / lead


def test_a_squeeze_of_285_over_a_spread_of_300_is_0_95():
    assert ratio(285, 300).value == pytest.approx(0.95, rel=1e-12)  # definition; common practice


@pytest.mark.parametrize(("squeeze", "expected"), [(95, 0.95), (78, 0.78)])
def test_squeeze_as_a_share_of_spread_is_the_published_ratio(squeeze, expected):
    # Tyler et al. 2001, Am J Sports Med 29(2):124-128: 95 % in uninjured, 78 % in later injured ice hockey players.
    assert ratio(squeeze, 100).value == pytest.approx(expected, rel=1e-12)


def test_the_log_interval_is_the_published_row_of_the_log_method():
    found = ratio(300, 320, 10, 12)
    assert (found.low, found.high) == pytest.approx((0.849696, 1.034377), abs=1e-6)  # computed independently


@pytest.mark.parametrize(
    ("numbers", "printed"),
    [
        ((300, 320, 10, 12, 0), (0.850010, 1.035174)),
        ((300, 320, 10, 12, 60), (0.874677, 1.005981)),
        ((256, 320, 16, 16, 0), (0.681413, 0.934102)),
    ],
)
def test_the_log_interval_lies_close_to_fiellers(numbers, printed):
    assert fieller(*numbers) == pytest.approx(printed, abs=1e-6)
    squeeze, spread, squeeze_se, spread_se, covariance = numbers
    found = ratio(squeeze, spread, squeeze_se, spread_se, covariance)
    tolerance = 0.0012 if squeeze_se == 10 else 0.004  # the methods part as the errors grow: 5 and 6 % in the last row
    assert (found.low, found.high) == pytest.approx(printed, abs=tolerance)


def test_the_interval_is_the_same_in_any_unit():
    newtons, pounds = ratio(300, 320, 10, 12), ratio(*(x / 4.4482216152605 for x in (300, 320, 10, 12)))
    assert (newtons.low, newtons.high) == pytest.approx((pounds.low, pounds.high), rel=1e-12)
