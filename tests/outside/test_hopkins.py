"""Error on the log scale and the smallest worthwhile change, after Hopkins 2000 and 2004.

Hopkins 2000, Sports Med 30:1-15 (method read in abstract); Hopkins 2004, Sportscience 8:1-7 (from memory).
The tables were computed from the definitions.
"""

import math

import pytest

from stillset_core.reliability import (
    MDC_90,
    minimal_detectable_percent,
    percent_of,
    smallest_worthwhile_change,
    true_between_sd,
)


def test_a_between_athlete_sd_of_0_8_makes_0_16_worthwhile():
    assert smallest_worthwhile_change(0.8) == pytest.approx(0.16, abs=1e-12)


def test_squeezes_of_394_footballers_make_4_4_percent_worthwhile_below_their_typical_error():
    # Mosler et al. 2017, J Sci Med Sport 20:339-343: 3.6 ± 0.8 N/kg. CV 6.3 %: Ryan et al. 2019.
    smallest = smallest_worthwhile_change(0.8)
    assert 100 * smallest / 3.6 == pytest.approx(4.4, abs=0.05)
    assert smallest < 0.063 * 3.6


def test_the_error_is_taken_out_of_the_spread_between_athletes():
    assert true_between_sd(5.0, 3.0) == pytest.approx(4.0)
    assert true_between_sd(3.0, 3.0) is None


@pytest.mark.parametrize(
    ("cv", "up", "down", "up_90", "up_against_four"),
    [
        (3, 8.54, -7.87, 7.12, 6.69),
        (5, 14.48, -12.65, 12.02, 11.28),
        (6.3, 18.45, -15.58, 15.27, 14.33),
        (7, 20.63, -17.10, 17.05, 15.98),
        (9, 26.98, -21.25, 22.20, 20.79),
    ],
)
def test_minimal_detectable_changes_on_the_log_scale_are_not_symmetric(cv, up, down, up_90, up_against_four):
    error = math.log(1 + cv / 100)
    assert minimal_detectable_percent(error) == pytest.approx((down, up), abs=0.006)
    assert minimal_detectable_percent(error, MDC_90)[1] == pytest.approx(up_90, abs=0.006)
    assert minimal_detectable_percent(error, against=4)[1] == pytest.approx(up_against_four, abs=0.006)
    assert percent_of(error) == pytest.approx(cv)


def test_at_6_3_percent_the_changes_are_known_to_four_digits():
    assert minimal_detectable_percent(math.log(1.063)) == pytest.approx((-15.5784, 18.4531), abs=1e-4)


def test_published_falls_before_groin_pain_are_smaller_than_a_single_reading_can_show():
    # Crow et al. 2010, J Sci Med Sport: -5.82 % the week before, -11.75 % at onset; CV 6.3 %: Ryan et al. 2019.
    fall, _ = minimal_detectable_percent(math.log(1.063))
    assert fall < -11.75 < -5.82
