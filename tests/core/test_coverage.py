"""Coverage by series."""

from datetime import UTC, date, datetime, timedelta

import pytest

from stillset_core.coverage import coverage_of, is_overdue
from stillset_core.history import judge_history
from stillset_core.protocol import Protocol
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Position,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    StandardPosition,
)

AS_OF = datetime(2026, 10, 1, tzinfo=UTC)
HERE = Position("supine-bent-knee", 60.0)
STANDARD = StandardPosition(HERE, InstrumentKind.FIXED_FRAME, date(2025, 1, 1))


def a_set(days, intended=100.0, hold_s=5.0, position=HERE):
    force = SideForce(300.0)
    return SetRecord(
        client_ref=f"s{days}",
        athlete="MB-07",
        performed_at=AS_OF - timedelta(days=days),
        position=position,
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=Quantity.FORCE,
        reps=tuple(Rep(direction, hold_s, force, force, intended_percent=intended) for direction in Direction),
    )


def coverage(*sets, positions=(STANDARD,)):
    return coverage_of(judge_history(sets, positions, Protocol()), AS_OF, Protocol())


def test_an_athlete_without_sets_has_no_coverage():
    assert coverage() == ()


def test_readings_of_the_last_28_days_make_the_rate_per_week():
    (found,) = coverage(a_set(29), *(a_set(days) for days in (28, 20, 9)), a_set(5, intended=80), a_set(3, hold_s=1.0))
    assert (found.readings, found.at_least, found.set_aside) == (6, 2, 2)
    assert found.readings_per_week == 1.5
    assert found.last_reading_at == AS_OF - timedelta(days=9)
    assert found.days_since == 9
    assert not found.overdue


def test_an_athlete_without_a_counting_reading_is_overdue():
    (found,) = coverage(a_set(5, intended=80))
    assert (found.last_reading_at, found.days_since, found.overdue) == (None, None, True)


@pytest.mark.parametrize(("days", "overdue"), [(14, False), (14.5, True)])
def test_overdue_begins_after_overdue_days(days, overdue):
    assert is_overdue(AS_OF - timedelta(days=days), AS_OF, Protocol()) is overdue


def test_each_series_has_its_own_coverage_the_latest_used_first():
    wider = Position("supine-bent-knee", 90.0)
    later = StandardPosition(wider, InstrumentKind.FIXED_FRAME, date(2026, 9, 20))
    found = coverage(a_set(30), a_set(20), a_set(5, position=wider), positions=(STANDARD, later))
    assert [one.series.knee_angle_deg for one in found] == [90.0, 60.0]
    assert [one.days_since for one in found] == [5, 20]


def test_a_series_no_longer_used_does_not_make_an_athlete_overdue():
    wider = Position("supine-bent-knee", 90.0)
    later = StandardPosition(wider, InstrumentKind.FIXED_FRAME, date(2026, 9, 20))
    in_time = coverage(a_set(20), a_set(5, position=wider), positions=(STANDARD, later))
    assert [one.overdue for one in in_time] == [False, False]
    late = coverage(a_set(20), a_set(5, position=wider, intended=80), positions=(STANDARD, later))
    assert [one.overdue for one in late] == [True, True]


def test_sets_without_a_standard_position_are_covered_by_no_series():
    (found,) = coverage(a_set(3), positions=())
    assert (found.series, found.set_aside, found.overdue) == (None, 2, True)
