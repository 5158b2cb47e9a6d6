"""Set-up that stands off or is missed."""

from datetime import date

import pytest

from stillset_core.attention.set_up import position_often_off, set_up_drift
from stillset_core.records import InstrumentKind, Position


def bar_at(height):
    return Position("supine-bent-knee", bar_height=height)


HIGH = bar_at(34.4)
ELSEWHERE = Position("supine-straight-leg", bar_height=34.0)


def test_a_bar_that_stands_off_within_tolerance_is_reported_with_its_heights(watched, a_set):
    sets = [a_set(days, position=bar_at(34.3 + days % 2 / 10)) for days in range(1, 8)]
    (item,) = set_up_drift(watched(a_set(20), *sets))
    # the caution needs five in a row: it begins with the fifth of seven
    assert (
        item.text
        == "Bar height stood at 34.3 to 34.4, not 34.0, in 3 sets since 2026-09-28: measure the position again."
    )
    assert item.since == date(2026, 9, 28)
    assert item.evidence["standard"] == 34.0
    assert item.evidence["sets"] == 3


def test_five_sets_are_enough_and_four_are_not(watched, a_set):
    assert len(list(set_up_drift(watched(*(a_set(days, position=HIGH) for days in range(1, 6)))))) == 1
    assert not list(set_up_drift(watched(*(a_set(days, position=HIGH) for days in range(1, 5)))))


def test_a_bar_put_right_ends_the_drift(watched, a_set):
    assert not list(set_up_drift(watched(a_set(1), *(a_set(days, position=HIGH) for days in range(2, 9)))))


def test_a_set_in_another_position_or_on_another_instrument_meanwhile_does_not_end_it(watched, a_set):
    sets = [a_set(days, position=HIGH) for days in range(2, 9)]
    assert len(list(set_up_drift(watched(a_set(1, position=ELSEWHERE), *sets)))) == 1
    assert len(list(set_up_drift(watched(a_set(1, kind=InstrumentKind.HAND_HELD), *sets)))) == 1


def test_an_athlete_without_sets_has_no_drift(watched):
    assert not list(set_up_drift(watched()))
    assert not list(position_often_off(watched()))


def test_knee_angles_tell_where_no_bar_height_is_stated(watched, a_set):
    bent = Position("supine-bent-knee", knee_angle_deg=64.0)
    (item,) = set_up_drift(watched(*(a_set(days, position=bent) for days in range(1, 7))))
    assert item.text.startswith("Knee angle stood at 64 to 64°, not 60°, in 2 sets")


def test_a_drift_seen_last_more_than_14_days_ago_is_no_news(watched, a_set):
    assert not list(set_up_drift(watched(*(a_set(days, position=HIGH) for days in range(15, 25)))))


@pytest.mark.parametrize(("off", "reported"), [(2, False), (3, True)])
def test_three_sets_off_position_within_14_days_are_reported(watched, a_set, off, reported):
    sets = [a_set(days + 1, position=bar_at(35.0)) for days in range(off)]
    found = list(position_often_off(watched(*sets, a_set(10), a_set(20, position=ELSEWHERE))))
    assert bool(found) is reported
    if reported:
        assert found[0].text == (
            "3 of 4 sets of the last 14 days were not in the standard position,"
            " most often by bar-height-off (3): check the set-up."
        )
        assert found[0].since == date(2026, 9, 28)
