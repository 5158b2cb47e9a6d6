"""Builders for what the checks look at: real judging of small records, trends made by hand."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from stillset_core.attention.item import Watched
from stillset_core.history import judge_history, readings_of
from stillset_core.pain import pain_entries
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol
from stillset_core.records import (
    STRENGTHS,
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
from stillset_core.trend import DirectionTrend, FilteredHistory, SeriesTrend, SideTrend, SmoothedHistory, State

AS_OF = datetime(2026, 10, 1, tzinfo=UTC)
KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
STANDARD = StandardPosition(
    Position("supine-bent-knee", 60.0, bar_height=34.0), InstrumentKind.FIXED_FRAME, date(2025, 1, 1)
)
IN_POSITION = Position("supine-bent-knee", bar_height=34.0)
STEADY = SideTrend(300.0, 290.0, 310.0, 0.0, 0.0, -4.0, 4.0, 0.02, 0.02, State.HOLDING, None, 20, 300.0)


@pytest.fixture
def as_of():
    return AS_OF


@pytest.fixture
def a_set():
    """One squeeze at the given time before as_of, maximal and in position unless told otherwise."""

    def build(days, *, force=300.0, intended=100.0, position=IN_POSITION, serial="F-01", hold_s=5.0, **of_record):
        kind = of_record.pop("kind", InstrumentKind.FIXED_FRAME)
        both = SideForce(force), None if of_record.pop("left_only", False) else SideForce(force)
        return SetRecord(
            client_ref=f"s-{days:07.3f}",
            athlete="MB-07",
            performed_at=AS_OF - timedelta(days=days),
            position=position,
            instrument=Instrument(kind, serial, checked_on=date(2026, 6, 1)),
            quantity=Quantity.FORCE,
            reps=tuple(Rep(direction, hold_s, *both, intended_percent=intended) for direction in Direction),
            **of_record,
        )

    return build


@pytest.fixture
def a_trend():
    """A series that holds at 300 N; ``falling`` maps strengths to what is different about them."""

    def build(falling=None, last_days=2.0, calls=(), levels=None):
        sides = dict.fromkeys(STRENGTHS, STEADY)
        for strength, changes in (falling or {}).items():
            sides[strength] = replace(STEADY, state=State.FALLING, **changes)
        days = np.arange(100, 0, -2.0)
        mean = np.full((len(days), 4), math.log(300.0)) if levels is None else np.log(levels(days))
        seen = np.ones(mean.shape, dtype=bool)
        at = tuple(AS_OF - timedelta(days=float(day)) for day in days)
        return SeriesTrend(
            key=KEY,
            as_of=AS_OF,
            readings=80,
            at_least=0,
            last_reading_at=AS_OF - timedelta(days=last_days),
            noise_scale=1.0,
            log_likelihood=0.0,
            squeeze=DirectionTrend(*(sides[strength] for strength in STRENGTHS[:2])),
            spread=DirectionTrend(*(sides[strength] for strength in STRENGTHS[2:])),
            mean=mean[-1],
            covariance=np.diag([2e-4] * 4),
            history=SmoothedHistory(at, mean, np.tile(np.diag([2e-4] * 4), (len(at), 1, 1)), seen),
            filtered=FilteredHistory(at, mean, seen),
            calls=tuple(calls),
            standing_calls=tuple(calls),
        )

    return build


@pytest.fixture
def watched():
    """One athlete with these sets, judged by the rules, and these trends."""

    def build(*sets, trends=(), balances=(), athlete="MB-07", **settings):
        protocol = Protocol(**settings)
        judged = judge_history(sets, (STANDARD,), protocol)
        state = AthleteState(
            as_of=AS_OF,
            judged=judged,
            readings=readings_of(judged),
            trends=tuple(trends),
            balances=tuple(balances),
            load_weeks=(),
            pain=pain_entries(sets),
        )
        return Watched(athlete, state, protocol)

    return build
