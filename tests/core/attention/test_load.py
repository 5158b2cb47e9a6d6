"""A week that held far more than the athlete's own four weeks before it."""

from datetime import date

import pytest

from stillset_core.attention.load import load_jump


def weeks(a_set, held):
    """Sets whose holds sum to so many seconds in each week; the first week ends four days before as_of (a Thursday)."""
    return [
        # Squeeze and spread are held for hold_s each.
        a_set(6 + 7 * back, hold_s=seconds / 2)
        for back, seconds in enumerate(held)
        if seconds
    ]


def test_twice_the_mean_of_the_four_weeks_before_is_reported_with_the_sums(watched, a_set):
    (item,) = load_jump(watched(*weeks(a_set, [200, 100, 120, 80, 100, 100])))
    assert item.text == "200.0 s held in week 2026-W39, against a mean of 100.0 s a week in the four weeks before."
    assert item.evidence == {
        "week": "2026-W39",
        "hold_s": pytest.approx(200),
        "previous_four_weeks_hold_s": 100,
        "change_percent": pytest.approx(100),
    }
    assert item.since == date(2026, 9, 21)


@pytest.mark.parametrize(
    "held",
    [
        [199, 100, 120, 80, 100, 100],  # less than twice
        [100, 40, 40, 48, 40, 40],  # twice, and less than a minute more
        [0, 100, 100, 100, 100, 100],  # rest
        [200, 100, 100, 100],  # no four weeks before
    ],
)
def test_less_than_twice_or_little_or_a_short_record_draws_no_attention(watched, a_set, held):
    assert not list(load_jump(watched(*weeks(a_set, held))))


def test_a_week_that_is_not_over_is_not_judged(watched, a_set):
    assert not list(load_jump(watched(a_set(1, hold_s=300), *weeks(a_set, [100, 100, 100, 100, 100, 100]))))


def test_an_athlete_without_a_set_has_no_jump(watched):
    assert not list(load_jump(watched()))
