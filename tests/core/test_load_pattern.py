"""Weeks of work beside the weeks before."""

from datetime import UTC, datetime, timedelta, timezone
from types import SimpleNamespace

import pytest

from stillset_core.load_pattern import LoadPattern, load_patterns

MONDAY = datetime(2026, 9, 14, 12, tzinfo=UTC)
LATER = datetime(2027, 6, 1, tzinfo=UTC)


def a_set(days, hold_s, zone=UTC):
    at = (MONDAY + timedelta(days=days)).replace(tzinfo=zone)
    return SimpleNamespace(record=SimpleNamespace(performed_at=at), load=SimpleNamespace(hold_s=hold_s))


def weekly(*sums):
    return [a_set(7 * week, hold_s) for week, hold_s in enumerate(sums) if hold_s]


def pattern(week, *sets, as_of=LATER):
    return load_patterns(sets, as_of)[week]


def test_the_change_is_against_the_mean_of_the_four_weeks_before_which_is_shown():
    found = pattern("2026-W42", *weekly(100, 80, 120, 100, 150))
    assert found.previous_four_weeks_hold_s == 100
    assert found.change_percent == pytest.approx(50)


def test_a_week_without_a_set_is_one_of_rest_and_has_no_row():
    found = load_patterns(weekly(100, 0, 0, 100, 150), LATER)
    assert found["2026-W42"].previous_four_weeks_hold_s == 50
    assert found["2026-W42"].change_percent == pytest.approx(200)
    assert set(found) == {"2026-W38", "2026-W41", "2026-W42"}


def test_until_the_record_reaches_four_weeks_back_there_is_no_mean():
    found = load_patterns(weekly(100, 80, 120, 100, 150), LATER)
    assert [found[week].previous_four_weeks_hold_s for week in sorted(found)] == [None, None, None, None, 100]
    assert found["2026-W41"].change_percent is None


def test_after_four_weeks_of_rest_there_is_a_mean_of_nought_and_no_percent():
    found = pattern("2026-W43", *weekly(100, 0, 0, 0, 0, 90))
    assert (found.previous_four_weeks_hold_s, found.change_percent) == (0, None)


def test_monotony_and_strain_are_of_the_days_of_the_week_with_rest_days_as_nought():
    # 50 0 100 50 0 150 0: mean 50, SD 57.735 (n - 1).
    sets = [a_set(0, 20), a_set(0.1, 30), a_set(2, 100), a_set(3, 50), a_set(5, 150)]
    found = pattern("2026-W38", *sets)
    assert (found.monotony, found.strain) == (pytest.approx(0.866025, abs=1e-6), pytest.approx(303.109, abs=1e-3))


def test_a_week_of_equal_days_has_neither():
    found = pattern(
        "2026-W38", *(a_set(day + part, hold_s) for day in range(7) for part, hold_s in ((0, 0.1), (0.1, 0.2)))
    )
    assert (found.monotony, found.strain) == (None, None)


@pytest.mark.parametrize(("end", "over"), [(timedelta(0), True), (timedelta(microseconds=-2), False)])
def test_a_week_is_judged_when_it_is_over(end, over):
    sets = weekly(100, 80, 120, 100, 150)
    end_of_sunday = datetime(2026, 10, 18, 23, 59, 59, 999999, UTC)
    found = pattern("2026-W42", *sets, as_of=end_of_sunday + end)
    assert found.previous_four_weeks_hold_s == 100
    assert (found.change_percent is not None, found.monotony is not None, found.strain is not None) == (over,) * 3


def test_a_set_belongs_to_its_own_calendar_date():
    late_sunday = a_set(6.4, 5, timezone(timedelta(hours=-11)))
    assert set(load_patterns([late_sunday], LATER)) == {"2026-W38"}


def test_order_does_not_matter_and_nothing_gives_nothing():
    sets = weekly(100, 80, 120, 100, 150)
    assert load_patterns(sets[::-1], LATER) == load_patterns(sets, LATER)
    assert load_patterns([], LATER) == {}
    assert pattern("2026-W38", a_set(0, 30), as_of=MONDAY) == LoadPattern(None, None, None, None)
