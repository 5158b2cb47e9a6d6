"""Balance from the joint state: ratios, side gaps, intervals and usual bands."""

import math
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from stillset_core.balance import BandState, Stronger, balance_of
from stillset_core.protocol import Protocol, SideGapFormula
from stillset_core.records import Direction, InstrumentKind, Quantity, Side
from stillset_core.series import SeriesKey
from stillset_core.steadiness import Lead

AS_OF = datetime(2026, 9, 30, tzinfo=UTC)
KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)


def a_trend(levels=(300.0, 300.0, 300.0, 300.0), covariance=None, rows=(), seen=(True,) * 4, first_days=400):
    """A trend with the given levels in N now and a day ago.

    ``rows`` are (days before as_of, four levels) of its smoothed history; what was never ``seen``, or
    is older than ``first_days``, was not measured then.
    """
    rows = [*rows, (1, levels)]
    return SimpleNamespace(
        key=KEY,
        as_of=AS_OF,
        mean=np.log(levels),
        covariance=np.diag([4e-4] * 4) if covariance is None else np.array(covariance),
        history=SimpleNamespace(
            at=tuple(AS_OF - timedelta(days=days) for days, _ in rows),
            mean=np.log(np.array([values for _, values in rows])),
            seen=np.array([[side and days <= first_days for side in seen] for days, _ in rows]),
        ),
    )


def weekly(levels_of_week, first_day=15.0):
    """One smoothed row a week, the newest ``first_day`` days before as_of, oldest first."""
    return [(first_day + 7 * week, levels) for week, levels in enumerate(levels_of_week)][::-1]


def balance(trend, dominant=None, **settings):
    return balance_of(trend, Protocol(**settings), dominant)


def test_the_ratio_is_squeeze_over_spread_of_the_same_side():
    found = balance(a_trend(levels=(285, 330, 300, 300)))
    assert found.ratio_left.value == pytest.approx(0.95)
    assert found.ratio_right.value == pytest.approx(1.10)
    assert found.ratio(Side.RIGHT) is found.ratio_right


def test_what_both_directions_share_leaves_the_interval_of_the_ratio():
    apart = balance(a_trend(covariance=np.diag([4e-4] * 4))).ratio_left
    shared = balance(a_trend(covariance=np.diag([4e-4] * 4) + 9e-4)).ratio_left
    half = 1.959964 * math.sqrt(8e-4)
    assert (apart.low, apart.high) == pytest.approx((math.exp(-half), math.exp(half)))
    assert (shared.low, shared.high) == pytest.approx((apart.low, apart.high))


def test_a_side_gap_is_signed_by_the_stronger_side_and_names_its_formula():
    found = balance(a_trend(levels=(400, 320, 320, 400)))
    squeeze, spread = found.gap(Direction.SQUEEZE), found.gap(Direction.SPREAD)
    assert (squeeze.percent, spread.percent) == pytest.approx((20, -20))
    assert (squeeze.stronger, spread.stronger) == (Stronger.LEFT, Stronger.RIGHT)
    assert squeeze.beyond_noise
    assert spread.beyond_noise
    assert squeeze.formula is SideGapFormula.OF_STRONGER


@pytest.mark.parametrize("formula", SideGapFormula)
@pytest.mark.parametrize("dominant", [None, Side.LEFT, Side.RIGHT])
@pytest.mark.parametrize("levels", [(400, 320, 300, 300), (320, 400, 300, 300)])
def test_low_never_lies_above_high_and_the_value_lies_between(formula, dominant, levels):
    gap = balance(a_trend(levels=levels), dominant, side_gap_formula=formula).gap_squeeze
    assert gap.low < gap.percent < gap.high
    assert gap.stronger is (Stronger.LEFT if levels[0] > levels[1] else Stronger.RIGHT)


def test_of_dominant_is_positive_for_a_stronger_dominant_right_side():
    gap = balance(a_trend(levels=(320, 400, 300, 300)), Side.RIGHT, side_gap_formula="of-dominant").gap_squeeze
    assert gap.percent == pytest.approx(20)
    assert gap.stronger is Stronger.RIGHT


@pytest.mark.parametrize(("right", "stronger"), [(300 / 1.0004, "neither"), (300 / 1.0006, "left")])
def test_neither_side_is_stronger_below_0_05_percent(right, stronger):
    assert balance(a_trend(levels=(300, right, 300, 300))).gap_squeeze.stronger == stronger


@pytest.mark.parametrize(("gap_in_sd", "beyond"), [(1.95, False), (1.97, True), (-1.95, False), (-1.97, True)])
def test_a_gap_is_beyond_noise_when_the_interval_excludes_equality(gap_in_sd, beyond):
    left = 300 * math.exp(gap_in_sd * math.sqrt(8e-4))
    assert balance(a_trend(levels=(left, 300, 300, 300))).gap_squeeze.beyond_noise is beyond


def test_a_level_that_is_missing_makes_nulls_and_too_few():
    found = balance(a_trend(seen=(True, False, True, True)))
    assert found.ratio_left.value is not None
    assert (found.ratio_right.value, found.ratio_right.low, found.ratio_right.state) == (None, None, BandState.TOO_FEW)
    assert (found.gap_squeeze.percent, found.gap_squeeze.stronger) == (None, None)
    assert not found.gap_squeeze.beyond_noise
    assert found.gap_spread.percent == pytest.approx(0)


def test_the_usual_band_is_the_median_and_1_96_sample_sd_of_smoothed_log_ratios():
    ratios = [0.90, 0.92, 0.94, 0.96, 0.98, 1.00, 1.02, 1.10]
    found = balance(a_trend(rows=weekly([(300 * r, 300, 300, 300) for r in ratios]))).ratio_left
    logs = [math.log(r) for r in ratios]
    middle = (logs[3] + logs[4]) / 2
    sample_sd = math.sqrt(sum((x - sum(logs) / 8) ** 2 for x in logs) / 7)
    assert found.usual_low == pytest.approx(math.exp(middle - 1.96 * sample_sd), rel=1e-12)
    assert found.usual_high == pytest.approx(math.exp(middle + 1.96 * sample_sd), rel=1e-12)


@pytest.mark.parametrize(("now", "state"), [(0.70, BandState.BELOW), (0.96, BandState.WITHIN), (1.30, BandState.ABOVE)])
def test_the_ratio_now_lies_below_within_or_above_the_usual_band(now, state):
    rows = weekly([(300 * r, 300, 300, 300) for r in (0.93, 0.94, 0.95, 0.96, 0.97, 0.98, 0.99, 1.0)])
    assert balance(a_trend(levels=(300 * now, 300, 300, 300), rows=rows)).ratio_left.state is state


def test_rounding_alone_never_leaves_a_usual_band_without_width():
    rows = weekly([(300.0000000001, 300, 300, 300)] * 8)
    found = balance(a_trend(rows=rows))
    assert found.ratio_left.state is BandState.WITHIN
    assert found.gap_squeeze.state is BandState.WITHIN


def test_seven_session_ends_are_too_few_for_a_usual_band():
    eight = weekly([(296 + week, 300, 300, 300) for week in range(8)])
    assert balance(a_trend(rows=eight)).ratio_left.state is BandState.WITHIN
    assert balance(a_trend(rows=eight[1:])).ratio_left.state is BandState.TOO_FEW
    assert balance(a_trend(rows=eight[1:])).ratio_left.usual_low is None


@pytest.mark.parametrize(("days", "counted"), [(13.9, False), (14.1, True), (195.9, True), (196.1, False)])
def test_the_usual_band_looks_at_26_weeks_that_end_14_days_ago(days, counted):
    seven = weekly([(290 + week, 300, 300, 300) for week in range(7)], first_day=20)
    rows = sorted([*seven, (days, (300, 300, 300, 300))], reverse=True)
    assert (balance(a_trend(rows=rows)).ratio_left.state is not BandState.TOO_FEW) is counted


def test_session_ends_from_before_both_quantities_were_measured_do_not_count():
    rows = weekly([(296 + week, 300, 300, 300) for week in range(8)])
    assert balance(a_trend(rows=rows, first_days=65)).ratio_left.state is BandState.WITHIN
    assert balance(a_trend(rows=rows, first_days=60)).ratio_left.state is BandState.TOO_FEW


def test_the_usual_band_of_a_gap_is_in_the_percent_of_its_formula_and_in_order():
    rows = weekly([(300, 300 * r, 300, 300) for r in (0.93, 0.94, 0.95, 0.96, 0.97, 0.98, 0.99, 1.0)])
    now = (300, 270, 300, 300)
    left = balance(a_trend(levels=now, rows=rows), Side.LEFT, side_gap_formula="of-dominant").gap_squeeze
    right = balance(a_trend(levels=now, rows=rows), Side.RIGHT, side_gap_formula="of-dominant").gap_squeeze
    assert left.usual_low < left.usual_high < left.percent
    assert left.state is BandState.ABOVE
    assert right.percent < right.usual_low < right.usual_high
    assert right.state is BandState.BELOW


def test_a_ratio_outside_its_band_says_since_when():
    usual = weekly([(300 * r, 300, 300, 300) for r in (0.98, 0.99, 1.0, 1.01, 1.02, 0.98, 1.0, 1.02)])
    outside = [(days, (240, 300, 300, 300)) for days in (13, 9, 5)]
    trend = a_trend(levels=(240, 300, 300, 300), rows=[*usual, *outside])
    assert balance(trend).ratio_left.since == AS_OF - timedelta(days=13)
    assert balance(trend).gap_squeeze.since == AS_OF - timedelta(days=13)
    assert balance(trend).ratio_right.since is None


def test_the_stronger_side_leads_in_so_many_of_the_last_twelve_sessions():
    right, left = (280.0, 300.0, 300.0, 290.0), (310.0, 300.0, 300.0, 290.0)
    rows = weekly([left] * 3 + [right] * 4 + [left] * 4 + [right] * 9)
    gap = balance(a_trend(levels=left, rows=rows)).gap_squeeze
    assert gap.lead == Lead(8, 12)  # with now, the latest twelve are four weeks of left stronger before four of right
    assert gap.lead.percent == pytest.approx(100 * 8 / 12)


def test_fewer_than_eight_sessions_with_both_sides_lead_nowhere():
    left = (310.0, 300.0, 300.0, 290.0)
    assert balance(a_trend(levels=left, rows=weekly([left] * 7))).gap_squeeze.lead == Lead(8, 8)
    assert balance(a_trend(levels=left, rows=weekly([left] * 6))).gap_squeeze.lead is None
    assert balance(a_trend(levels=left, rows=weekly([left] * 20), first_days=50)).gap_squeeze.lead is None


@pytest.mark.parametrize(
    ("dominant", "words"),
    [
        (None, "Left is the stronger one by 20.0 % (of-stronger), beyond noise."),
        (Side.LEFT, "Left, the dominant side, is the stronger one by 20.0 % (of-stronger), beyond noise."),
        (Side.RIGHT, "Left, not the dominant side, is the stronger one by 20.0 % (of-stronger), beyond noise."),
    ],
)
def test_a_gap_in_words_takes_the_dominant_side_into_account(dominant, words):
    assert balance(a_trend(levels=(400, 320, 300, 300)), dominant).gap_squeeze.in_words == words


def test_a_gap_in_words_says_how_steady_it_is_and_whether_it_is_noise():
    levels = (300.0, 306.0, 300.0, 300.0)
    gap = balance(a_trend(levels=levels, rows=weekly([levels] * 11)), side_gap_formula="log-ratio").gap_squeeze
    assert gap.in_words == (
        "Right is the stronger one by 2.0 % (log-ratio), within noise. It was in 12 of the last 12 sessions."
    )


def test_sides_that_are_alike_have_no_stronger_one_and_no_gap_has_no_words():
    assert (
        balance(a_trend(rows=weekly([(300.0,) * 4] * 12))).gap_squeeze.in_words == "Neither side is the stronger one."
    )
    missing = balance(a_trend(seen=(True, False, True, True))).gap_squeeze
    assert (missing.lead, missing.in_words) == (None, None)
