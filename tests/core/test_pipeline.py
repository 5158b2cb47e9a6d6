"""Everything derived of one athlete: what is in it, in which order, and as of when."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from stillset_core.history import judge_history
from stillset_core.pipeline import AthleteHistory, derive, derive_from_judged
from stillset_core.protocol import Protocol, parse_protocol
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    Position,
    Quantity,
    Rep,
    SetRecord,
    Side,
    SideForce,
    StandardPosition,
)
from stillset_core.trend import State

POSITION = Position("supine-bent-knee", knee_angle_deg=60.0, bar_height=34.0)
STANDARD = StandardPosition(POSITION, InstrumentKind.FIXED_FRAME, date(2026, 1, 1))
START = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)


def a_set(day, squeeze=300.0, **changes):
    reps = tuple(
        Rep(direction, 5.0, SideForce(force), SideForce(force * 0.97), intended_percent=100.0)
        for direction, force in ((Direction.SQUEEZE, squeeze), (Direction.SPREAD, 290.0))
        for _ in range(3)
    )
    fields = {
        "client_ref": f"day-{day:03d}",
        "athlete": "MB-07",
        "performed_at": START + timedelta(days=day),
        "position": POSITION,
        "instrument": Instrument(InstrumentKind.FIXED_FRAME),
        "quantity": Quantity.FORCE,
        "reps": reps,
    }
    return SetRecord(**{**fields, **changes})


def state(*records, as_of=START + timedelta(days=400), positions=(STANDARD,), protocol=None, dominant_side=None):
    return derive(AthleteHistory(records, positions, protocol or Protocol(), dominant_side), as_of)


def test_an_athlete_without_sets_has_an_empty_state():
    empty = state()
    assert empty == replace(empty, judged=(), readings=(), trends=(), balances=(), load_weeks=(), pain=())


def test_sets_that_are_all_set_aside_have_load_and_pain_but_no_trend():
    aside = state(a_set(0, position=Position("seated"), pain=Pain(2.0)))
    assert (aside.readings, aside.trends, aside.balances) == ((), (), ())
    assert [week.reps for week in aside.load_weeks] == [6]
    assert [entry.score for entry in aside.pain] == [2.0]


def test_a_steady_season_has_its_level_balance_and_load():
    steady = state(*(a_set(3 * n) for n in range(20)), as_of=START + timedelta(days=58))
    (trend,), (balance,) = steady.trends, steady.balances
    assert trend.squeeze.left.level == pytest.approx(300.0, rel=0.02)
    assert trend.squeeze.left.state in {State.HOLDING, State.UNSURE}
    assert balance.key == trend.key == steady.readings[0].series
    assert balance.ratio_left.value == pytest.approx(300 / 290, rel=0.02)
    assert trend.readings == len(steady.readings) == 40
    assert sum(week.reps for week in steady.load_weeks) == 120


def test_a_long_decline_is_seen():
    decline = [a_set(3 * n, squeeze=300.0 * (1 - 0.01 * max(0, n - 15))) for n in range(35)]
    (trend,) = state(*decline, as_of=START + timedelta(days=103)).trends
    assert trend.squeeze.left.state is State.FALLING
    assert trend.spread.left.state is not State.FALLING


def test_later_sets_are_left_out_and_a_set_at_as_of_is_taken_in():
    records = [a_set(day) for day in range(5)]
    cut = state(*records, as_of=START + timedelta(days=2))
    assert [one.record.client_ref for one in cut.judged] == ["day-000", "day-001", "day-002"]
    assert len(cut.readings) == 6
    assert cut.trends[0].last_reading_at == START + timedelta(days=2)
    assert sum(week.reps for week in cut.load_weeks) == 18


def test_sets_judged_once_serve_any_as_of():
    records = [a_set(day, pain=Pain(day / 2)) for day in range(8)]
    judged = judge_history(records, (STANDARD,), Protocol())
    for days in (0, 3, 8):
        as_of = START + timedelta(days=days)
        whole = state(*records, as_of=as_of, dominant_side=Side.RIGHT)
        cut = derive_from_judged(judged, Protocol(), Side.RIGHT, as_of)
        assert (cut.judged, cut.readings, cut.load_weeks, cut.pain) == (
            whole.judged,
            whole.readings,
            whole.load_weeks,
            whole.pain,
        )
        assert [trend.squeeze for trend in cut.trends] == [trend.squeeze for trend in whole.trends]
        assert cut.balances == whole.balances


def test_the_series_used_last_comes_first():
    positions = (
        STANDARD,
        replace(STANDARD, valid_from=date(2026, 6, 4), position=replace(POSITION, knee_angle_deg=90.0)),
    )
    turned = [a_set(day, position=replace(POSITION, knee_angle_deg=90.0)) for day in (4, 6)]
    two = state(a_set(0), a_set(1), *turned, positions=positions)
    assert [trend.key.knee_angle_deg for trend in two.trends] == [90.0, 60.0]
    assert [balance.key for balance in two.balances] == [trend.key for trend in two.trends]


def test_the_protocol_in_force_judges_all_of_it():
    records = [a_set(day) for day in range(3)]
    assert state(*records, protocol=parse_protocol({"min_hold_s": 6})).trends == ()
