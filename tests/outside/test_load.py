"""Load against values that follow from definitions and geometry."""

from datetime import UTC, datetime

import numpy as np
import pytest

from stillset_core.load import set_load
from stillset_core.records import Direction, Instrument, InstrumentKind, Position, Quantity, Rep, SetRecord, SideForce


def impulse(*reps):
    record = SetRecord(
        client_ref="s1",
        athlete="MB-07",
        performed_at=datetime(2026, 9, 14, tzinfo=UTC),
        position=Position("supine-bent-knee"),
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=Quantity.FORCE,
        reps=reps,
    )
    return set_load(record).impulse_n_s


def test_three_holds_of_5_s_at_300_n_are_4500_newton_seconds_a_side():
    # Impulse of a constant force = F·t (definition).
    hold = Rep(Direction.SQUEEZE, 5.0, left=SideForce(300, 300))
    assert impulse(hold, hold, hold) == pytest.approx(4500, rel=1e-12)
    both_sides = Rep(Direction.SQUEEZE, 5.0, SideForce(300, 300), SideForce(300, 300))
    assert impulse(both_sides, both_sides, both_sides) == pytest.approx(9000, rel=1e-12)


def test_a_trapezoid_hold_has_the_area_under_its_curve():
    # 0 to 300 N in 1 s, 3 s held, 0.5 s down: 150 + 900 + 75 = 1125 N·s (geometry).
    force = np.interp(np.arange(0, 4.5, 0.001) + 0.0005, [0, 1, 4, 4.5], [0, 300, 300, 0])
    whole = Rep(Direction.SQUEEZE, 4.5, left=SideForce(float(force.max()), float(force.mean())))
    assert impulse(whole) == pytest.approx(1125, rel=1e-3)
