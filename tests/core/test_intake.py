"""From a document to a record in SI."""

import json
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from stillset_core.document import parse_set
from stillset_core.intake import to_record
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    PainWhen,
    Position,
    Purpose,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
)

NOW = datetime(2026, 9, 15, 12, tzinfo=UTC)

SPARSE = {
    "client_ref": "s-1",
    "athlete": "an-id",
    "performed_at": "2026-09-14T17:32:05+02:00",
    "position": {"name": "supine"},
    "instrument": {"kind": "other"},
    "unit": "N",
    "reps": [{"direction": "spread", "hold_s": 4, "right": {"peak": 200}}],
}


def record_of(**members: object) -> SetRecord:
    return to_record(parse_set(json.dumps({**SPARSE, **members}), now=NOW), athlete_ref="MB-07")


def test_what_was_not_stated_stays_unknown():
    assert record_of() == SetRecord(
        client_ref="s-1",
        athlete="MB-07",
        performed_at=datetime(2026, 9, 14, 15, 32, 5, tzinfo=UTC),
        position=Position("supine"),
        instrument=Instrument(InstrumentKind.OTHER),
        quantity=Quantity.FORCE,
        reps=(Rep(Direction.SPREAD, 4.0, None, SideForce(200.0)),),
    )


def test_everything_stated_is_in_the_record():
    record = record_of(
        session_ref="evening",
        purpose="warm-up",
        position={
            "name": "supine",
            "knee_angle_deg": 60,
            "hip_angle_deg": 45,
            "bar_height": -3,
            "foot_mark": "C",
            "arms": "x",
        },
        instrument={"kind": "hand-held", "serial": "A", "zeroed": False, "checked_on": "2026-08-30"},
        rpe=9,
        reps=[{"direction": "squeeze", "hold_s": 5, "left": {"peak": 2, "mean": 1}, "started_s": 3}],
        pain={"score": 2, "site": "left groin", "when": "next-day"},
        body_mass_kg=80,
        note="n",
    )
    assert record == SetRecord(
        client_ref="s-1",
        athlete="MB-07",
        performed_at=datetime(2026, 9, 14, 17, 32, 5, tzinfo=timezone(timedelta(hours=2))),
        position=Position("supine", 60.0, 45.0, -3.0, "C", "x"),
        instrument=Instrument(InstrumentKind.HAND_HELD, "A", zeroed=False, checked_on=date(2026, 8, 30)),
        quantity=Quantity.FORCE,
        reps=(Rep(Direction.SQUEEZE, 5.0, SideForce(2.0, 1.0), None, 3.0),),
        session_ref="evening",
        purpose=Purpose.WARM_UP,
        rpe=9.0,
        pain=Pain(2.0, None, "left groin", PainWhen.NEXT_DAY),
        body_mass_kg=80.0,
        note="n",
    )
    assert record.performed_at.utcoffset() == timedelta(hours=2)


def test_a_presence_of_pain_is_during_the_set_by_default():
    assert record_of(pain={"present": True}).pain == Pain(present=True, when=PainWhen.DURING)


@pytest.mark.parametrize(
    ("unit", "quantity", "peak", "mean"),
    [
        # Factors of NIST SP 811, appendix B.8.
        ("N", Quantity.FORCE, 100.0, 50.0),
        ("kN", Quantity.FORCE, 100_000.0, 50_000.0),
        ("kgf", Quantity.FORCE, 980.665, 490.3325),
        ("[lbf_av]", Quantity.FORCE, 444.82216152605, 222.411080763025),
        ("lbf", Quantity.FORCE, 444.82216152605, 222.411080763025),
        ("N.m", Quantity.TORQUE, 100.0, 50.0),
        ("Nm", Quantity.TORQUE, 100.0, 50.0),
        ("mm[Hg]", Quantity.PRESSURE, 13332.2387415, 6666.11937075),
        ("mmHg", Quantity.PRESSURE, 13332.2387415, 6666.11937075),
        ("kPa", Quantity.PRESSURE, 100_000.0, 50_000.0),
    ],
)
def test_values_are_brought_to_si(unit, quantity, peak, mean):
    record = record_of(unit=unit, reps=[{"direction": "squeeze", "hold_s": 5, "left": {"peak": 100, "mean": 50}}])
    side = record.reps[0].left
    assert record.quantity is quantity
    assert side.peak == pytest.approx(peak, rel=1e-15)
    assert side.mean == pytest.approx(mean, rel=1e-15)


@pytest.mark.parametrize(
    ("of_set", "of_rep", "resolved"),
    [(None, None, None), (95, None, 95.0), (None, 80, 80.0), (100, 50, 50.0), (100, 0, 0.0), (0, None, 0.0)],
)
def test_the_intent_of_a_rep_wins_over_that_of_the_set(of_set, of_rep, resolved):
    rep = {"direction": "squeeze", "hold_s": 5, "left": {"peak": 100}, "intended_percent": of_rep}
    assert record_of(intended_percent=of_set, reps=[rep]).reps[0].intended_percent == resolved


def test_reps_of_a_trace_have_the_intent_of_the_set_and_are_in_si():
    hold = [0.0] * 40 + [0.25, None, 0.25, 0.25] * 25 + [0.0] * 40
    trace = {"rate_hz": 20, "right": hold}
    record = record_of(unit="kN", reps=None, intended_percent=100, trace=trace)
    (rep,) = record.reps
    assert rep.intended_percent == 100.0
    assert rep.left is None
    assert rep.right.peak == pytest.approx(250.0)
    assert (record.trace.offset_left, record.trace.offset_right) == (None, 0.0)
