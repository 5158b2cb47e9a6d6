"""Judging an athlete's sets in their history: standard in force, sessions, series, set-ups, readings."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from stillset_core.history import judge_among, judge_history, readings_of, standard_at
from stillset_core.judging.outcome import Standing
from stillset_core.protocol import Protocol, parse_protocol
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
from stillset_core.series import SeriesKey
from stillset_core.session import set_order

POSITION = Position("supine-bent-knee", knee_angle_deg=60.0, bar_height=34.0)
FRAME = Instrument(InstrumentKind.FIXED_FRAME)
STANDARD = StandardPosition(POSITION, InstrumentKind.FIXED_FRAME, date(2026, 1, 1))
START = datetime(2026, 9, 1, 10, 0, tzinfo=UTC)
REPS = tuple(Rep(direction, 5.0, SideForce(300.0), SideForce(290.0), intended_percent=100.0) for direction in Direction)
KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)


def a_set(day=0.0, *, height=34.0, angle=60.0, **changes):
    fields = {
        "client_ref": f"day-{day:06.2f}",
        "athlete": "MB-07",
        "performed_at": START + timedelta(days=day),
        "position": Position("supine-bent-knee", knee_angle_deg=angle, bar_height=height),
        "instrument": FRAME,
        "quantity": Quantity.FORCE,
        "reps": REPS,
    }
    return SetRecord(**{**fields, **changes})


def judge_all(*sets, positions=(STANDARD,), protocol=None):
    """Judge all sets, and check that judging each among the others says the same."""
    protocol = protocol or Protocol()
    judged = judge_history(sets, positions, protocol)
    ordered = sorted(sets, key=set_order)
    for place, record in enumerate(ordered):
        others = ordered[:place] + ordered[place + 1 :]
        assert judge_among(record, others, positions, protocol) == judged[place].outcome
    return judged


def drifts(one):
    return any(caution.rule == "set-up-drift" for outcome in one.outcome for caution in outcome.cautions)


# The standard position in force


def since(day, **changes):
    return replace(STANDARD, valid_from=day, position=replace(POSITION, **changes))


def test_the_latest_standard_that_had_begun_applies_in_whatever_order_they_come():
    spring, autumn, later = since(date(2026, 3, 1)), since(date(2026, 8, 1)), since(date(2026, 10, 1))
    for positions in [(spring, autumn, later), (later, autumn, spring)]:
        assert standard_at(a_set(), positions) is autumn
    assert standard_at(a_set(), (later,)) is None
    assert standard_at(a_set(), ()) is None


@pytest.mark.parametrize(
    ("performed_at", "applies"),
    [
        ("2026-09-05T00:00:00+02:00", True),
        ("2026-09-04T23:59:59.999999+02:00", False),
        ("2026-09-04T20:00:00-10:00", False),  # already the 5th in UTC
        ("2026-09-05T08:00:00+10:00", True),  # still the 4th in UTC
    ],
)
def test_a_standard_begins_at_midnight_of_its_date_in_the_offset_of_the_set(performed_at, applies):
    record = a_set(performed_at=datetime.fromisoformat(performed_at))
    assert (standard_at(record, (since(date(2026, 9, 5)),)) is not None) is applies


def test_a_set_before_the_first_standard_is_set_aside_and_has_no_series():
    (one,) = judge_all(a_set(), positions=(since(date(2026, 9, 2)),))
    assert one.standard is None
    assert one.series is None
    assert [outcome.standing for outcome in one.outcome] == [Standing.SET_ASIDE] * 2


# Series


def test_a_re_measured_bar_height_goes_on_with_the_series_and_another_angle_begins_a_new_one():
    positions = (STANDARD, since(date(2026, 9, 3), bar_height=36.0), since(date(2026, 9, 6), knee_angle_deg=90.0))
    first, second, third = judge_all(a_set(0), a_set(3, height=36.0), a_set(6, angle=90.0), positions=positions)
    assert first.series == second.series == KEY
    assert third.series == replace(KEY, knee_angle_deg=90.0)
    assert [one.outcome[0].standing for one in (first, second, third)] == [Standing.COUNTS] * 3


def test_going_back_to_an_earlier_position_goes_on_with_its_series():
    positions = (STANDARD, since(date(2026, 9, 3), knee_angle_deg=90.0), since(date(2026, 9, 6)))
    first, second, third = judge_all(a_set(0), a_set(3, angle=90.0), a_set(6), positions=positions)
    assert first.series == third.series
    assert first.series != second.series


def test_the_series_of_a_set_has_its_own_kind_of_instrument_and_quantity():
    cuff = a_set(instrument=Instrument(InstrumentKind.PRESSURE_CUFF), quantity=Quantity.PRESSURE)
    (one,) = judge_all(cuff)
    assert one.series == replace(KEY, instrument_kind=InstrumentKind.PRESSURE_CUFF, quantity=Quantity.PRESSURE)
    assert [reason.rule for reason in one.outcome[0].reasons] == ["other-instrument"]


# Sessions


def test_a_set_after_much_hard_work_in_its_session_is_not_fresh():
    work = a_set(0, reps=tuple(replace(REPS[0], hold_s=10.0) for _ in range(9)))
    at_limit = a_set(0.05, client_ref="b")
    beyond = a_set(0.1, client_ref="c")
    next_day = a_set(1.0)
    judged = judge_all(work, at_limit, beyond, next_day)
    assert [one.outcome[0].standing for one in judged] == [
        Standing.COUNTS,
        Standing.COUNTS,
        Standing.SET_ASIDE,
        Standing.COUNTS,
    ]
    assert judged[2].outcome[0].reasons[0].seen == 100.0
    assert [one.session for one in judged] == [0, 0, 0, 1]


# Set-ups


def test_the_fifth_bar_height_in_a_row_on_one_side_cautions_and_each_after_it():
    judged = judge_all(*(a_set(day, height=34.4) for day in range(7)))
    assert [drifts(one) for one in judged] == [False] * 4 + [True] * 3
    assert judged[-1].outcome[0].standing is Standing.COUNTS


def test_one_bar_height_near_the_standard_ends_the_drift():
    heights = [34.4] * 5 + [34.1] + [34.4] * 5
    judged = judge_all(*(a_set(day, height=height) for day, height in enumerate(heights)))
    assert [drifts(one) for one in judged] == [False] * 4 + [True] + [False] * 5 + [True]


def test_sets_without_a_bar_height_are_passed_over():
    heights = [34.4, None, 34.4, 34.4, None, 34.4, 34.4, None]
    judged = judge_all(*(a_set(day, height=height) for day, height in enumerate(heights)))
    assert [drifts(one) for one in judged] == [False] * 6 + [True, True]


def test_sets_out_of_position_and_of_another_series_are_passed_over():
    cuff = {"instrument": Instrument(InstrumentKind.HAND_HELD)}
    sets = [a_set(day, height=34.4) for day in range(4)]
    between = [a_set(4, height=30.0), a_set(5, height=34.0, **cuff), a_set(6, height=34.0, angle=90.0)]
    judged = judge_all(*sets, *between, a_set(7, height=34.4))
    assert [drifts(one) for one in judged] == [False] * 7 + [True]


def test_knee_angles_drift_only_where_the_series_has_no_bar_height():
    angles = judge_all(*(a_set(day, height=None, angle=63.0) for day in range(5)))
    assert [drifts(one) for one in angles] == [False] * 4 + [True]
    with_height = judge_all(a_set(0), *(a_set(day, height=None, angle=63.0) for day in range(1, 7)))
    assert not any(drifts(one) for one in with_height)


def test_a_bar_height_is_held_against_the_standard_that_was_in_force():
    positions = (STANDARD, since(date(2026, 9, 4), bar_height=36.0))
    heights = [34.4, 34.4, 34.4, 36.4, 36.4]
    judged = judge_all(*(a_set(day, height=height) for day, height in enumerate(heights)), positions=positions)
    assert drifts(judged[-1])


# Readings


def test_readings_are_the_directions_that_count_or_bound_in_the_order_of_the_engine():
    light = tuple(replace(rep, intended_percent=80.0) for rep in REPS)
    sets = [
        a_set(0, client_ref="b"),
        a_set(0, client_ref="a", reps=light),
        a_set(0, client_ref="c"),
        a_set(1, height=30.0),
        a_set(2, reps=(REPS[1],)),
    ]
    readings = readings_of(judge_all(*sets))
    assert [(reading.client_ref, reading.direction.value, reading.counts) for reading in readings] == [
        ("b", "squeeze", True),
        ("c", "squeeze", True),
        ("b", "spread", True),
        ("c", "spread", True),
        ("a", "squeeze", False),
        ("a", "spread", False),
        ("day-002.00", "spread", True),
    ]
    assert {reading.series for reading in readings} == {KEY}
    assert [reading.session for reading in readings] == [0] * 6 + [2]


def test_the_protocol_judges_all_history():
    record = a_set(0, reps=tuple(replace(rep, hold_s=2.5) for rep in REPS))
    assert readings_of(judge_all(record)) == ()
    assert len(readings_of(judge_all(record, protocol=parse_protocol({"min_hold_s": 2})))) == 2


def test_a_judged_set_carries_its_load_whatever_its_standing():
    (one,) = judge_all(a_set(0, height=0.0))
    assert (one.load.reps, one.load.hold_s) == (2, 10.0)
