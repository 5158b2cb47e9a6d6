"""A trace and its own reps posted as numbers give the same readings."""

from datetime import UTC, datetime

import numpy as np
import pytest

from stillset_core.document import parse_set_value
from stillset_core.history import judge_history, readings_of
from stillset_core.intake import to_record
from stillset_core.protocol import Protocol
from stillset_core.records import InstrumentKind, Position, StandardPosition
from stillset_core.units import UNITS

NOW = datetime(2026, 9, 30, tzinfo=UTC)
POSITION = {"name": "supine-bent-knee", "knee_angle_deg": 60}
STANDARD = StandardPosition(Position("supine-bent-knee", 60.0), InstrumentKind.FIXED_FRAME, NOW.date().replace(day=1))
FORCES = {
    "one pair": (310, -250),
    "three pairs": (310, -250, 305, -255, 320, -245),
    "squeezes alone": (310, 300, 290),
    "one too weak": (310, 15, -250),
}


def judged(intent, unit, **efforts):
    document = {
        "client_ref": "s1",
        "athlete": "MB-07",
        "performed_at": "2026-09-14T17:32:05Z",
        "position": POSITION,
        "instrument": {"kind": "fixed-frame"},
        "unit": unit,
        "intended_percent": intent,
        **efforts,
    }
    record = to_record(parse_set_value(document, now=NOW), athlete_ref="MB-07")
    return record, judge_history([record], [STANDARD], Protocol(min_rest_s=2))


def as_numbers(rep, to_si):
    sides = {"left": rep.left, "right": rep.right}
    return {
        "direction": rep.direction.value,
        "hold_s": rep.hold_s,
        "started_s": rep.started_s,
        **{
            name: {"peak": side.peak / to_si, "mean": side.mean / to_si}
            for name, side in sides.items()
            if side is not None
        },
    }


@pytest.mark.parametrize("intent", [100, 75, None])
@pytest.mark.parametrize("unit", ["N", "lbf", "N.m", "mm[Hg]"])
@pytest.mark.parametrize("rate_hz", [20, 1000])
@pytest.mark.parametrize("forces", FORCES.values(), ids=FORCES)
def test_a_trace_and_its_own_reps_give_the_same_readings(draw_holds, forces, rate_hz, unit, intent):
    left = draw_holds(rate_hz, *forces, noise=1) + 4
    right = draw_holds(rate_hz, *forces, noise=1, seed=2) * 0.9
    left[round(4.5 * rate_hz) : round(4.6 * rate_hz)] = np.nan
    samples = {
        name: [None if np.isnan(value) else value for value in side.tolist()]
        for name, side in (("left", left), ("right", right))
    }
    record, of_trace = judged(intent, unit, trace={"rate_hz": rate_hz, **samples})
    reps = [as_numbers(rep, UNITS[unit].to_si) for rep in record.reps]
    _, of_numbers = judged(intent, unit, reps=reps)
    readings = readings_of(of_trace)
    assert len(readings) == len({np.sign(force) for force in forces})
    for reading, same in zip(readings, readings_of(of_numbers), strict=True):
        assert (reading.direction, reading.counts, reading.series) == (same.direction, same.counts, same.series)
        values = [(value.left, value.right) for value in (reading.value, same.value)]
        assert values[0] == pytest.approx(values[1], rel=1e-14)
        if reading.counts:
            assert reading.value.adjusted_left == pytest.approx(same.value.adjusted_left, rel=1e-14)
            assert reading.value.maximal_reps == same.value.maximal_reps
    (trace,), (numbers,) = of_trace, of_numbers
    assert [(one.standing, one.reasons) for one in trace.outcome] == [
        (one.standing, one.reasons) for one in numbers.outcome
    ]
    assert (trace.load.reps, trace.load.hold_s) == (numbers.load.reps, numbers.load.hold_s)
    assert (trace.load.impulse_n_s or 0) == pytest.approx(numbers.load.impulse_n_s or 0, rel=1e-12)
