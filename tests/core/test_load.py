"""Load of sets and weeks."""

import math
from datetime import UTC, date, datetime, timedelta, timezone
from types import SimpleNamespace

import numpy as np
import pytest

from stillset_core.judged import JudgedSet
from stillset_core.load import SetLoad, load_weeks, set_load
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
from stillset_core.series import SeriesKey

MONDAY = datetime(2026, 9, 14, 12, tzinfo=UTC)
KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
STANDARD = StandardPosition(Position("supine-bent-knee", 60.0), InstrumentKind.FIXED_FRAME, date(2026, 1, 1))


def a_rep(hold_s=5.0, left=250.0, right=None, direction=Direction.SQUEEZE, mean=None):
    return Rep(
        direction=direction,
        hold_s=hold_s,
        left=None if left is None else SideForce(left, mean),
        right=None if right is None else SideForce(right, mean),
    )


def a_record(*reps, at=MONDAY, quantity=Quantity.FORCE):
    return SetRecord(
        client_ref="s1",
        athlete="MB-07",
        performed_at=at,
        position=Position("supine-bent-knee", 60.0),
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=quantity,
        reps=reps,
    )


def judged(*reps, series=KEY, **of_record):
    record = a_record(*reps, **of_record)
    return JudgedSet(record, 1, STANDARD, series, (), set_load(record))


def a_trend(*rows, key=KEY):
    """Filtered history of rows (time, four levels in N, None where not yet measured)."""
    levels = [[math.nan if level is None else math.log(level) for level in row[1]] for row in rows]
    mean = np.array(levels).reshape(-1, 4)
    seen = ~np.isnan(mean)
    return SimpleNamespace(
        key=key,
        filtered=SimpleNamespace(at=tuple(row[0] for row in rows), mean=np.where(seen, mean, 5.0), seen=seen),
    )


def weeks(*sets, trends=(), **settings):
    return load_weeks(sets, trends, Protocol(**settings))


def hard_s(*sets, trends=None, **settings):
    before = [a_trend((MONDAY - timedelta(days=1), (300.0, 300.0, 250.0, 250.0)))]
    (week,) = weeks(*sets, trends=before if trends is None else trends, **settings)
    return week.hard_s


def test_the_load_of_a_set_is_its_reps_seconds_and_newton_seconds():
    record = a_record(
        Rep(Direction.SQUEEZE, 5.1, SideForce(312, 287), SideForce(298, 271)),
        Rep(Direction.SPREAD, 2.1, SideForce(265, 240), SideForce(270, 247)),
    )
    load = set_load(record)
    assert (load.reps, load.hold_s) == (2, pytest.approx(7.2))
    assert load.impulse_n_s == pytest.approx(3868.5)


def test_a_rep_without_mean_lends_its_peak_and_a_missing_side_adds_nothing():
    assert set_load(a_record(a_rep(4.0, left=250, right=None))).impulse_n_s == 1000


@pytest.mark.parametrize("quantity", [Quantity.TORQUE, Quantity.PRESSURE])
def test_what_is_no_force_has_no_impulse_but_counts_its_seconds(quantity):
    assert set_load(a_record(a_rep(4.0), quantity=quantity)) == SetLoad(1, 4.0, None)


@pytest.mark.parametrize(("hold_s", "peaks"), [(5.0, (1.7e308, None)), (0.9, (1.7e308, 1.7e308))])
def test_an_impulse_beyond_double_precision_is_not_given(hold_s, peaks):
    assert set_load(a_record(a_rep(hold_s, *peaks))).impulse_n_s is None


def test_a_trace_without_reps_is_a_load_of_nothing():
    assert set_load(a_record()) == SetLoad(0, 0.0, 0.0)


def test_weeks_are_iso_weeks_of_the_local_date_oldest_first():
    new_york = timezone(timedelta(hours=-4))
    late_sunday = datetime(2026, 9, 20, 23, 30, tzinfo=new_york)  # Monday in UTC
    new_year = datetime(2027, 1, 1, 12, tzinfo=UTC)
    found = weeks(judged(a_rep(), at=new_year), judged(a_rep(), at=late_sunday), judged(a_rep()))
    assert [week.week for week in found] == ["2026-W38", "2026-W53"]
    assert [week.reps for week in found] == [2, 1]


def test_a_week_sums_its_sets_and_leaves_out_impulse_where_none_is_force():
    force, torque = judged(a_rep(5.0, left=200)), judged(a_rep(3.0), quantity=Quantity.TORQUE)
    (both,) = weeks(force, torque)
    assert (both.reps, both.hold_s, both.impulse_n_s) == (2, 8.0, 1000.0)
    (none,) = weeks(torque)
    assert none.impulse_n_s is None


@pytest.mark.parametrize(("peak", "expected"), [(239.9, 0.0), (240.0, 5.0), (310.0, 5.0)])
def test_a_rep_at_80_percent_of_the_level_is_hard(peak, expected):
    assert hard_s(judged(a_rep(5.0, left=peak))) == expected


def test_the_higher_share_of_the_two_sides_decides():
    levels = [a_trend((MONDAY - timedelta(days=1), (300.0, 200.0, None, None)))]
    assert hard_s(judged(a_rep(5.0, left=200, right=170)), trends=levels) == 5.0


def test_the_level_is_that_of_the_reps_own_direction():
    squeeze, spread = a_rep(5.0, left=210), a_rep(4.0, left=210, direction=Direction.SPREAD)
    assert hard_s(judged(squeeze, spread)) == 4.0


def test_the_level_is_the_last_one_strictly_before_the_set():
    levels = [
        a_trend(
            (MONDAY - timedelta(days=1), (300.0,) * 4),
            (MONDAY, (200.0,) * 4),
            (MONDAY + timedelta(days=1), (200.0,) * 4),
        )
    ]
    assert hard_s(judged(a_rep(5.0, left=200)), trends=levels) == 0.0
    assert hard_s(judged(a_rep(5.0, left=200), at=MONDAY + timedelta(seconds=1)), trends=levels) == 5.0


def test_without_a_level_hard_seconds_are_unknown():
    first = [a_trend((MONDAY, (300.0,) * 4))]
    other_series = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.HAND_HELD, Quantity.FORCE)
    unseen = [a_trend((MONDAY - timedelta(days=1), (None, 300.0, 300.0, 300.0)))]
    assert hard_s(judged(a_rep()), trends=first) is None
    assert hard_s(judged(a_rep(), series=None)) is None
    assert hard_s(judged(a_rep(), series=other_series)) is None
    assert hard_s(judged(a_rep(left=290, right=None)), trends=unseen) is None


def test_a_week_with_one_known_set_sums_the_hard_seconds_it_knows():
    assert hard_s(judged(a_rep(5.0, left=290)), judged(a_rep(7.0), series=None)) == 5.0


def test_the_force_compared_is_the_one_the_protocol_makes_levels_of():
    rep = a_rep(5.0, left=290, mean=200)
    assert hard_s(judged(rep)) == 5.0
    assert hard_s(judged(rep), value="mean") == 0.0
    assert hard_s(judged(a_rep(5.0, left=290)), value="mean") == 5.0  # without a mean the peak stands in
