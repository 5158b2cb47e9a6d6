"""Balance outside the athlete's own usual band."""

import math
from datetime import date, timedelta

import numpy as np
import pytest

from stillset_core.attention.balance import ratio_outside_usual, side_gap_outside_usual, side_gap_widening
from stillset_core.balance import Balance, BandState, Ratio, SideGap, Stronger
from stillset_core.protocol import SideGapFormula
from stillset_core.records import Direction, Side

USUAL = Ratio(0.95, 0.91, 0.99, 0.92, 0.98, BandState.WITHIN)
EVEN = SideGap(SideGapFormula.OF_STRONGER, 0.0, -3.0, 3.0, Stronger.NEITHER, False, -2.0, 2.0, BandState.WITHIN)


@pytest.fixture
def athlete(watched, a_trend, as_of):
    def build(ratio=USUAL, gap=EVEN, falling=None):
        trend = a_trend(falling)
        return watched(trends=[trend], balances=[Balance(trend.key, ratio, USUAL, gap, EVEN)])

    return build


def a_gap(percent, low, high, usual=(-2.0, 2.0), state=BandState.BELOW):
    beyond = low > 0 or high < 0
    side = Stronger.LEFT if percent > 0 else Stronger.RIGHT
    return SideGap(SideGapFormula.OF_STRONGER, percent, low, high, side, beyond, *usual, state)


def test_a_ratio_below_the_usual_band_is_reported_with_its_band_and_date(athlete, as_of):
    low = Ratio(0.83, 0.79, 0.87, 0.92, 0.98, BandState.BELOW, as_of - timedelta(days=10))
    (item,) = ratio_outside_usual(athlete(low))
    assert (item.rule, item.direction, item.side) == ("ratio-outside-usual", None, Side.LEFT)
    assert item.text == (
        "Squeeze ÷ spread, left, is 0.83 (95 % 0.79 to 0.87; 20 readings, last on 2026-09-29),"
        " below this athlete's usual 0.92 to 0.98."
    )
    assert item.since == date(2026, 9, 21)


def test_a_balance_within_its_band_or_without_one_draws_no_attention(athlete, watched, a_trend):
    for ratio in (USUAL, Ratio(), Ratio(0.6, 0.5, 0.7)):
        assert not list(ratio_outside_usual(athlete(ratio)))
    assert not list(side_gap_outside_usual(athlete(gap=SideGap(SideGapFormula.OF_SUM))))
    assert not list(ratio_outside_usual(watched()))
    assert not list(side_gap_outside_usual(watched()))


def test_outside_the_band_is_not_enough_where_the_interval_holds_its_middle(athlete):
    assert not list(ratio_outside_usual(athlete(Ratio(0.90, 0.84, 0.96, 0.92, 0.98, BandState.BELOW))))


def test_the_ratio_farther_from_its_band_for_its_noise_weighs_more(athlete):
    (near,) = ratio_outside_usual(athlete(Ratio(0.88, 0.84, 0.92, 0.92, 0.98, BandState.BELOW)))
    (far,) = ratio_outside_usual(athlete(Ratio(0.78, 0.74, 0.82, 0.92, 0.98, BandState.BELOW)))
    assert far.weight > near.weight


def test_a_gap_that_widened_beyond_noise_is_reported_with_its_formula(athlete):
    (item,) = side_gap_outside_usual(athlete(gap=a_gap(-8.0, -11.0, -5.0)))
    assert (item.rule, item.direction, item.side) == ("side-gap-outside-usual", Direction.SQUEEZE, None)
    assert item.text == (
        "Side gap in squeeze (of-stronger) is −8.0 % (95 % −11.0 to −5.0 %; 20 readings, last on 2026-09-29),"
        " beyond noise and outside this athlete's usual −2.0 to +2.0 %."
    )
    assert item.evidence["stronger"] == "right"


@pytest.mark.parametrize(
    "gap",
    [
        a_gap(-3.0, -6.5, 0.5),  # within noise of equal sides
        a_gap(-4.0, -7.0, -1.0, (-14.0, -8.0), BandState.ABOVE),  # smaller than usual, on its usual side
    ],
)
def test_a_gap_within_noise_or_narrower_than_usual_draws_no_attention(athlete, gap):
    assert not list(side_gap_outside_usual(athlete(gap=gap)))


def test_a_gap_that_changed_sides_is_reported_even_if_it_is_smaller(athlete):
    changed = a_gap(5.0, 2.0, 8.0, (-12.0, -6.0), BandState.ABOVE)
    assert list(side_gap_outside_usual(athlete(gap=changed)))


def test_a_strength_reported_as_falling_tells_the_story_alone(athlete):
    low = Ratio(0.83, 0.79, 0.87, 0.92, 0.98, BandState.BELOW)
    wide = a_gap(-8.0, -11.0, -5.0)
    left_squeeze = {(Direction.SQUEEZE, Side.LEFT): {}}
    assert not list(ratio_outside_usual(athlete(low, falling=left_squeeze)))
    assert not list(side_gap_outside_usual(athlete(gap=wide, falling=left_squeeze)))
    right_spread = {(Direction.SPREAD, Side.RIGHT): {}}
    assert list(ratio_outside_usual(athlete(low, falling=right_spread)))
    assert list(side_gap_outside_usual(athlete(gap=wide, falling=right_spread)))


WITHIN_BAND = SideGap(SideGapFormula.OF_STRONGER, 8.0, 4.0, 12.0, Stronger.LEFT, True, -2.0, 14.0, BandState.WITHIN)


def leading(squeeze_left):
    """Levels at which the left squeeze leads a right one of 300 N by so much at each number of days ago."""

    def levels(days):
        sides = np.full((len(days), 4), 300.0)
        sides[:, 0] *= 1 + squeeze_left(days) / 100
        return sides

    return levels


@pytest.fixture
def leader(watched, a_trend):
    def build(squeeze_left, gap=WITHIN_BAND, falling=None):
        trend = a_trend(falling, levels=leading(squeeze_left))
        return watched(trends=[trend], balances=[Balance(trend.key, USUAL, USUAL, gap, EVEN)])

    return build


def test_a_lead_that_grew_over_eight_weeks_is_reported_with_both_leads_and_the_interval(leader):
    (item,) = side_gap_widening(leader(lambda days: np.where(days < 28, 10.0, 2.0)))
    assert (item.rule, item.direction, item.side) == ("side-gap-widening", Direction.SQUEEZE, Side.LEFT)
    # Growth ln(1.10 / 1.02) = 0.0755; half an interval 1.959964 x sqrt(4 x 2e-4) = 0.0554 for independent errors.
    assert item.text == (
        "Left squeeze is ahead of the other side by 10.0 %, 2.0 % on 2026-08-06: grown by 7.8 % (95 % 2.0 to 14.0 %)."
    )
    assert item.evidence["low"] == pytest.approx(100 * math.expm1(math.log(1.10 / 1.02) - 1.959964 * math.sqrt(8e-4)))
    assert item.since == date(2026, 8, 6)


@pytest.mark.parametrize(
    "lead",
    [
        lambda days: np.full(len(days), 10.0),  # as wide before
        lambda days: np.where(days < 28, 10.0, 4.5),  # growth within its noise
        lambda days: np.where(days < 28, 2.0, -12.0),  # changed sides and is narrower
        lambda days: np.where(days < 28, 4.0, 12.0),  # narrowed
    ],
)
def test_a_lead_that_did_not_grow_beyond_noise_draws_no_attention(leader, lead):
    assert not list(side_gap_widening(leader(lead)))


def test_a_growing_lead_is_silent_where_another_item_of_the_direction_tells_more(leader, watched):
    def grown(days):
        return np.where(days < 28, 10.0, 2.0)

    assert not list(side_gap_widening(leader(grown, falling={(Direction.SQUEEZE, Side.RIGHT): {}})))
    assert not list(side_gap_widening(leader(grown, gap=a_gap(8.0, 4.0, 12.0, state=BandState.ABOVE))))
    assert not list(side_gap_widening(leader(grown, gap=EVEN)))
    assert not list(side_gap_widening(watched()))
