"""Norms of squads and roles."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from stillset_core.balance import Balance, Ratio, SideGap
from stillset_core.norms import Measure, norms_of
from stillset_core.protocol import SideGapFormula
from stillset_core.records import STRENGTHS, Direction, InstrumentKind, Quantity, Side
from stillset_core.series import SeriesKey

AS_OF = datetime(2026, 10, 1, tzinfo=UTC)
KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
UNANGLED = SeriesKey("supine-bent-knee", None, InstrumentKind.FIXED_FRAME, Quantity.FORCE)


def an_athlete(level, *, key=KEY, last_days=3.0):
    """An athlete at one level on all sides, a ratio of level ÷ 100 and a side gap of level ÷ 10."""
    trend = SimpleNamespace(
        key=key,
        last_reading_at=None if last_days is None else AS_OF - timedelta(days=last_days),
        direction=lambda _: SimpleNamespace(side=lambda _: SimpleNamespace(level=level)),
    )
    ratio = Ratio() if level is None else Ratio(level / 100)
    gap = SideGap(SideGapFormula.OF_SUM, None if level is None else level / 10)
    return SimpleNamespace(as_of=AS_OF, trends=(trend,), balances=(Balance(key, ratio, ratio, gap, gap),))


def squad(levels, **of_athlete):
    return {f"MB-{n:02d}": an_athlete(level, **of_athlete) for n, level in enumerate(levels)}


def test_the_spread_of_a_squad_is_its_quantiles_with_linear_interpolation():
    levels = [310.0, 250.0, 270.0, 290.0, 400.0, 330.0]
    norm = norms_of(squad(levels), {})[0]
    assert (norm.measure, norm.direction, norm.side) == (Measure.LEVEL, Direction.SQUEEZE, Side.LEFT)
    assert (norm.role, norm.athletes) == (None, 6)
    expected = np.quantile(levels, [0.1, 0.25, 0.5, 0.75, 0.9])  # Hyndman & Fan 1996, type 7
    assert [norm.p10, norm.p25, norm.median, norm.p75, norm.p90] == pytest.approx(expected)
    assert norm.median == 300.0


def test_levels_ratios_and_gaps_come_in_order_for_each_side_or_direction():
    norms = norms_of(squad(range(100, 600, 100)), {})
    levels = [(Measure.LEVEL, *strength) for strength in STRENGTHS]
    ratios = [(Measure.RATIO, None, side) for side in Side]
    gaps = [(Measure.SIDE_GAP, direction, None) for direction in Direction]
    assert [(norm.measure, norm.direction, norm.side) for norm in norms] == levels + ratios + gaps
    assert {norm.measure: norm.median for norm in norms} == {
        Measure.LEVEL: 300.0,
        Measure.RATIO: 3.0,
        Measure.SIDE_GAP: 30.0,
    }


def test_roles_follow_the_squad_by_name_and_small_ones_are_counted_without_a_band():
    roles = {f"MB-{n:02d}": "wing" if n < 5 else "back" for n in range(7)} | {"MB-07": None}
    first = [norm for norm in norms_of(squad(range(100, 900, 100)), roles) if norm.measure is Measure.RATIO][:3]
    assert [(norm.role, norm.athletes) for norm in first] == [(None, 8), ("back", 2), ("wing", 5)]
    assert first[1].median is None
    assert first[2].median == 3.0


def test_series_are_never_mixed_and_an_unknown_angle_sorts_without_trouble():
    both = squad([100, 200]) | {f"X-{n}": an_athlete(300, key=UNANGLED) for n in range(3)}
    levels = [norm for norm in norms_of(both, {}) if norm.measure is Measure.LEVEL]
    assert {(norm.series, norm.athletes) for norm in levels} == {(UNANGLED, 3), (KEY, 2)}


@pytest.mark.parametrize("last_days", [None, 56.1])
def test_athletes_without_a_recent_reading_are_left_out(last_days):
    assert norms_of(squad([300] * 6, last_days=last_days), {}) == ()


def test_what_is_not_known_of_an_athlete_is_left_out():
    assert norms_of(squad([None] * 6), {}) == ()
