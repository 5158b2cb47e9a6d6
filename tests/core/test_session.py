"""Which sets belong together, and what was held hard before a set."""

from datetime import UTC, datetime, timedelta

import pytest

from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Position,
    Purpose,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
)
from stillset_core.session import Sessions, hard_s, prior_hard_s, set_order

START = datetime(2026, 9, 14, 16, 0, tzinfo=UTC)


def a_set(minutes, ref=None, *, holds=((5.0, 100.0),), client_ref="", **changes):
    """Build a set some minutes after the start, with (seconds, planned per cent) for each hold."""
    reps = tuple(Rep(Direction.SQUEEZE, hold, SideForce(300.0), intended_percent=percent) for hold, percent in holds)
    return SetRecord(
        client_ref=client_ref or f"{minutes:g}",
        athlete="MB-07",
        performed_at=START + timedelta(minutes=minutes),
        position=changes.pop("position", Position("supine-bent-knee")),
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=Quantity.FORCE,
        reps=reps,
        session_ref=ref,
        **changes,
    )


def numbered(*sets):
    sessions = Sessions()
    return [sessions.take(one)[0] for one in sorted(sets, key=set_order)]


def test_sets_less_than_three_hours_apart_are_one_session():
    assert numbered(a_set(0), a_set(100), a_set(279)) == [0, 0, 0]


def test_a_session_may_go_on_for_longer_than_three_hours():
    assert numbered(*(a_set(170 * i) for i in range(5))) == [0] * 5


@pytest.mark.parametrize(("gap", "expected"), [(180 - 1e-6, [0, 0]), (180, [0, 1]), (181, [0, 1])])
def test_at_three_hours_a_new_session_begins(gap, expected):
    assert numbered(a_set(0), a_set(gap)) == expected


def test_the_gap_is_measured_in_time_not_on_the_clock_of_a_place():
    later = START.astimezone(datetime.fromisoformat("2026-01-01T00:00+14:00").tzinfo) + timedelta(minutes=179)
    record = a_set(0)
    moved = SetRecord(
        "b", "MB-07", later, record.position, record.instrument, record.quantity, record.reps, session_ref=None
    )
    assert numbered(record, moved) == [0, 0]


def test_a_session_ref_joins_whatever_the_gap_and_parts_whatever_the_nearness():
    assert numbered(a_set(0, "a"), a_set(10, "b"), a_set(10_000, "a")) == [0, 1, 0]


def test_sets_with_and_without_a_session_ref_are_never_joined():
    assert numbered(a_set(0), a_set(10, "a"), a_set(20)) == [0, 1, 0]


def test_a_set_with_a_session_ref_bridges_no_gap():
    assert numbered(a_set(0), a_set(120, "a"), a_set(240)) == [0, 1, 2]


def test_holds_at_80_percent_and_above_are_hard():
    record = a_set(0, holds=((1.0, 80.0), (2.0, 80.0 - 1e-10), (4.0, 79.9), (8.0, 100.0), (16.0, None)))
    assert hard_s(record) == 11.0


def prior(record, *others):
    """Both ways of finding what was held hard before, which must agree."""
    ordered = sorted([*others, record], key=set_order)
    sessions = Sessions()
    walked = dict(zip((one.client_ref for one in ordered), (sessions.take(one)[1] for one in ordered), strict=True))
    looked_back = prior_hard_s(record, ordered[: ordered.index(record)])
    assert walked[record.client_ref] == looked_back
    return looked_back


def test_hard_seconds_are_summed_over_earlier_sets_of_the_session():
    assert prior(a_set(60), a_set(0, holds=((5.0, 100.0), (5.0, 85.0))), a_set(30, holds=((7.0, 80.0),))) == 17.0


def test_purpose_and_position_do_not_matter_for_tiring():
    warm_up = a_set(0, purpose=Purpose.WARM_UP, position=Position("seated"))
    assert prior(a_set(60), warm_up) == 5.0


def test_later_sets_other_sessions_and_the_set_itself_do_not_tire():
    assert prior(a_set(0), a_set(1), a_set(-180), a_set(-1, "a")) == 0.0


def test_sets_at_the_same_instant_do_not_tire_each_other_but_both_tire_the_next():
    first, second = a_set(0, client_ref="a"), a_set(0, client_ref="b")
    assert prior(second, first) == 0.0
    assert prior(first, second) == 0.0
    assert prior(a_set(1), first, second) == 10.0


def test_a_chain_reaches_back_over_sets_that_are_near_their_neighbours():
    assert prior(a_set(340), a_set(0), a_set(170), a_set(335, "a")) == 10.0


def test_a_named_session_tires_whatever_the_gap():
    assert prior(a_set(50_000, "a"), a_set(0, "a"), a_set(49_990)) == 5.0
