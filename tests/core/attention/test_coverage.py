"""Readings that are missing."""

from dataclasses import replace
from datetime import date

import pytest

from stillset_core.attention.coverage import many_set_aside, no_reading_lately, only_at_least
from stillset_core.periods import Period, PeriodKind
from stillset_core.records import Position, Purpose

ELSEWHERE = Position("supine-straight-leg", bar_height=34.0)


@pytest.mark.parametrize(("days", "overdue"), [(14, False), (14.01, True)])
def test_more_than_overdue_days_without_a_reading_are_reported(watched, a_set, days, overdue):
    assert bool(list(no_reading_lately(watched(a_set(days))))) is overdue


def with_break(athlete, begin, until):
    return replace(athlete, periods=(Period(PeriodKind.BREAK, begin, until),))


def test_nobody_in_a_break_is_overdue_and_afterwards_the_days_count_from_its_end(watched, a_set):
    athlete = watched(a_set(40))
    assert list(no_reading_lately(with_break(athlete, date(2026, 8, 25), None))) == []
    assert list(no_reading_lately(with_break(athlete, date(2026, 8, 25), date(2026, 10, 1)))) == []
    assert list(no_reading_lately(with_break(athlete, date(2026, 8, 25), date(2026, 9, 17)))) == []
    (late,) = no_reading_lately(with_break(athlete, date(2026, 8, 25), date(2026, 9, 15)))
    assert late.evidence["days"] == 40
    injured = replace(athlete, periods=(Period(PeriodKind.INJURY, date(2026, 8, 25)),))
    assert list(no_reading_lately(injured))


def test_the_sentence_says_since_when_and_how_many_sets_came_meanwhile(watched, a_set):
    (item,) = no_reading_lately(watched(a_set(20), a_set(5, position=ELSEWHERE)))
    assert item.text == "No reading has counted since 2026-09-11, 20 days; 1 set logged since then."
    assert item.since == date(2026, 9, 11)
    assert item.evidence == {
        "last_reading_at": "2026-09-11T00:00:00Z",
        "days": 20,
        "overdue_days": 14,
        "sets_since": 1,
    }


def test_an_athlete_who_never_had_a_reading_comes_before_all_others(watched, a_set):
    (never,) = no_reading_lately(watched(a_set(5, position=ELSEWHERE), a_set(4, position=ELSEWHERE)))
    (late,) = no_reading_lately(watched(a_set(100)))
    assert never.text == "No reading has counted yet; 2 sets logged so far."
    assert never.since is None
    assert never.weight > late.weight
    assert late.text.endswith("100 days; no set since then.")
    (unlogged,) = no_reading_lately(watched())
    assert unlogged.text == "No reading has counted yet; no set so far."


def test_two_light_sets_without_a_maximal_one_ask_for_a_maximal_set(watched, a_set):
    athlete = watched(a_set(60), a_set(27, intended=80), a_set(2, intended=75))
    (item,) = only_at_least(athlete)
    assert item.text == (
        "Only lower bounds since 2026-09-04: all 4 usable directions of the last 28 days were"
        " planned below maximal; ask for one maximal set."
    )
    assert item.since == date(2026, 9, 4)
    assert not list(no_reading_lately(athlete))


def test_one_light_set_or_a_maximal_set_among_light_ones_asks_for_nothing(watched, a_set):
    assert not list(only_at_least(watched(a_set(2, intended=75))))
    assert not list(only_at_least(watched(a_set(20), a_set(5, intended=75), a_set(2, intended=75))))


def test_unknown_effort_is_named_as_the_cause_where_it_is_the_commonest(watched, a_set):
    (item,) = only_at_least(watched(*(a_set(days, intended=None) for days in (3, 2)), a_set(1, intended=80)))
    assert "with unknown effort" in item.text
    assert item.evidence["by_effort-unknown"] == 4
    assert item.evidence["by_planned-below-maximal"] == 2


def test_half_of_the_directions_set_aside_are_reported_with_the_commonest_reason(watched, a_set):
    aside = [a_set(days, hold_s=2.0) for days in (9, 8)] + [a_set(7, position=ELSEWHERE)]
    (item,) = many_set_aside(watched(*aside, *(a_set(days) for days in (3, 2, 1))))
    assert item.text == ("6 of 12 directions of the last 28 days were set aside, most often by hold-too-short (4).")
    assert item.since == date(2026, 9, 22)
    assert not list(many_set_aside(watched(*aside, *(a_set(days) for days in (4, 3, 2, 1)))))
    assert not list(many_set_aside(watched(*aside[:2])))


def test_warm_ups_are_set_aside_by_plan_and_do_not_count(watched, a_set):
    assert not list(many_set_aside(watched(*(a_set(days, purpose=Purpose.WARM_UP) for days in (4, 3, 2, 1)))))
