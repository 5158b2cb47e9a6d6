"""Histories of sets for the properties: everything that a rule looks at varies, near the limits most of all."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import strategies as st

from stillset_core.protocol import parse_protocol
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    Position,
    Purpose,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    StandardPosition,
)

START = datetime(2026, 9, 1, 6, 0, tzinfo=UTC)
OFFSETS = [UTC, timezone(timedelta(hours=2)), timezone(timedelta(hours=-10))]

forces = st.builds(
    lambda peak, share: SideForce(peak, None if share is None else peak * share),
    st.floats(200, 400),
    st.sampled_from([None, 0.5, 0.69, 0.9, 1.0]),
)


@st.composite
def reps(draw):
    left, right = draw(st.sampled_from([(True, True), (True, True), (True, False), (False, True)]))
    return Rep(
        direction=draw(st.sampled_from(Direction)),
        hold_s=draw(st.sampled_from([2.9, 3.0, 5.0, 5.0, 10.0, 10.1, 40.0])),
        left=draw(forces) if left else None,
        right=draw(forces) if right else None,
        started_s=draw(st.sampled_from([None, 0.0, 10.0, 25.0, 30.0, 60.0])),
        intended_percent=draw(st.sampled_from([None, 50.0, 79.9, 80.0, 94.9, 95.0, 100.0, 100.0])),
        clipped=draw(st.sampled_from([False, False, False, True])),
    )


positions = st.builds(
    Position,
    name=st.sampled_from(["supine-bent-knee"] * 4 + ["seated"]),
    knee_angle_deg=st.sampled_from([None, 60.0, 63.0, 66.0]),
    bar_height=st.sampled_from([None, 34.0, 34.4, 34.4, 34.4, 33.4]),
    foot_mark=st.sampled_from([None, None, "C", "D"]),
)


@st.composite
def records(draw, number):
    minutes = draw(st.one_of(st.integers(0, 20).map(lambda n: n * 60), st.integers(0, 30_000)))
    offset = draw(st.sampled_from(OFFSETS))
    return SetRecord(
        client_ref=f"{number * 7919 % 100:02d}",
        athlete="MB-07",
        performed_at=(START + timedelta(minutes=minutes)).astimezone(offset),
        position=draw(positions),
        instrument=Instrument(
            draw(st.sampled_from([InstrumentKind.FIXED_FRAME] * 3 + [InstrumentKind.HAND_HELD])),
            zeroed=draw(st.sampled_from([None, False])),
            checked_on=draw(st.sampled_from([None, date(2026, 6, 10)])),
        ),
        quantity=Quantity.FORCE,
        reps=tuple(draw(st.lists(reps(), max_size=5))),
        session_ref=draw(st.sampled_from([None, None, "a", "b"])),
        purpose=draw(st.sampled_from([Purpose.TRAINING] * 3 + [Purpose.WARM_UP])),
        pain=draw(st.sampled_from([None, Pain(0.0), Pain(1.0), Pain(present=True)])),
    )


@st.composite
def all_records(draw, max_size):
    return [draw(records(number)) for number in range(draw(st.integers(0, max_size)))]


standards = st.lists(
    st.builds(
        StandardPosition,
        position=st.builds(
            Position,
            name=st.just("supine-bent-knee"),
            knee_angle_deg=st.sampled_from([60.0, 60.0, 65.0, None]),
            bar_height=st.sampled_from([34.0, 34.0, 33.9, None]),
            foot_mark=st.sampled_from([None, "C"]),
        ),
        instrument_kind=st.just(InstrumentKind.FIXED_FRAME),
        valid_from=st.sampled_from([date(2026, 8, 1), date(2026, 9, 2), date(2026, 9, 10)]),
    ),
    max_size=3,
    unique_by=lambda standard: standard.valid_from,
).map(tuple)

protocols = st.sampled_from(
    [{}, {"value": "mean"}, {"summary": "mean", "max_prior_hard_s": 10}, {"min_hold_s": 2, "reps_standard": 1}]
).map(parse_protocol)


@pytest.fixture(scope="session")
def histories():
    """Strategy of (records in any order, standard positions, protocol), for a greatest number of sets."""
    return lambda max_size=12: st.tuples(all_records(max_size), standards, protocols)


@pytest.fixture(scope="session")
def a_standard():
    """Build the standard position of an athlete whose knee angle and bar height are known."""
    position = Position("supine-bent-knee", knee_angle_deg=60.0, bar_height=34.0)
    return StandardPosition(position, InstrumentKind.FIXED_FRAME, date(2026, 1, 1))
