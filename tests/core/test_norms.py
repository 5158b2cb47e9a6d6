"""Norms of squads and roles."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from stillset_core.balance import Balance, Ratio, SideGap
from stillset_core.norms import Beside, Measure, Percentile, norms_of, robust_z
from stillset_core.protocol import SideGapFormula
from stillset_core.records import STRENGTHS, Direction, InstrumentKind, Quantity, Side
from stillset_core.series import SeriesKey

AS_OF = datetime(2026, 10, 1, tzinfo=UTC)
KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
UNANGLED = SeriesKey("supine-bent-knee", None, InstrumentKind.FIXED_FRAME, Quantity.FORCE)


def weighed(days, body_mass_kg):
    record = SimpleNamespace(performed_at=AS_OF - timedelta(days=days), body_mass_kg=body_mass_kg)
    return SimpleNamespace(record=record)


def an_athlete(level, *, key=KEY, last_days=3.0, judged=()):
    """An athlete at one level on all sides, a ratio of level ÷ 100 and a side gap of level ÷ 10."""
    trend = SimpleNamespace(
        key=key,
        last_reading_at=None if last_days is None else AS_OF - timedelta(days=last_days),
        direction=lambda _: SimpleNamespace(side=lambda _: SimpleNamespace(level=level)),
    )
    ratio = Ratio() if level is None else Ratio(level / 100)
    gap = SideGap(SideGapFormula.OF_SUM, None if level is None else level / 10)
    balance = Balance(key, ratio, ratio, gap, gap)
    return SimpleNamespace(as_of=AS_OF, judged=judged, trends=(trend,), balances=(balance,))


def squad(levels, **of_athlete):
    return {f"MB-{n:02d}": an_athlete(level, **of_athlete) for n, level in enumerate(levels)}


def median_of(norm):
    return norm.percentiles[2].value


def test_the_spread_of_a_squad_is_its_quantiles_with_linear_interpolation():
    levels = [310.0, 250.0, 270.0, 290.0, 400.0, 330.0]
    norm = norms_of(squad(levels), {})[0]
    assert (norm.measure, norm.direction, norm.side) == (Measure.LEVEL, Direction.SQUEEZE, Side.LEFT)
    assert (norm.role, norm.athletes) == (None, 6)
    expected = np.quantile(levels, [0.1, 0.25, 0.5, 0.75, 0.9])  # Hyndman & Fan 1996, type 7
    assert [percentile.value for percentile in norm.percentiles] == pytest.approx(expected)
    assert median_of(norm) == 300.0


def test_levels_ratios_and_gaps_come_in_order_for_each_side_or_direction():
    norms = norms_of(squad(range(100, 600, 100)), {})
    levels = [(Measure.LEVEL, *strength) for strength in STRENGTHS]
    ratios = [(Measure.RATIO, None, side) for side in Side]
    gaps = [(Measure.SIDE_GAP, direction, None) for direction in Direction]
    assert [(norm.measure, norm.direction, norm.side) for norm in norms] == levels + ratios + gaps
    assert {norm.measure: median_of(norm) for norm in norms} == {
        Measure.LEVEL: 300.0,
        Measure.RATIO: 3.0,
        Measure.SIDE_GAP: 30.0,
    }


def test_roles_follow_the_squad_by_name_and_small_ones_are_counted_without_a_band():
    roles = {f"MB-{n:02d}": "wing" if n < 5 else "back" for n in range(7)} | {"MB-07": None}
    first = [norm for norm in norms_of(squad(range(100, 900, 100)), roles) if norm.measure is Measure.RATIO][:3]
    assert [(norm.role, norm.athletes) for norm in first] == [(None, 8), ("back", 2), ("wing", 5)]
    assert (first[1].percentiles, first[1].each) == ((), ())
    assert median_of(first[2]) == 3.0


def test_series_are_never_mixed_and_an_unknown_angle_sorts_without_trouble():
    both = squad([100, 200]) | {f"X-{n}": an_athlete(300, key=UNANGLED) for n in range(3)}
    levels = [norm for norm in norms_of(both, {}) if norm.measure is Measure.LEVEL]
    assert {(norm.series, norm.athletes) for norm in levels} == {(UNANGLED, 3), (KEY, 2)}


@pytest.mark.parametrize("last_days", [None, 56.1])
def test_athletes_without_a_recent_reading_are_left_out(last_days):
    assert norms_of(squad([300] * 6, last_days=last_days), {}) == ()


def test_what_is_not_known_of_an_athlete_is_left_out():
    assert norms_of(squad([None] * 6), {}) == ()


def test_a_percentile_has_the_interval_of_its_ranks_and_no_end_where_there_are_too_few():
    norm = norms_of(squad(range(100, 1100, 100)), {})[0]
    assert norm.percentiles[2] == Percentile(550.0, 200.0, 900.0)  # ranks 2 and 9 of 10: Campbell & Gardner 1988
    assert norm.percentiles[0].low is None
    assert norm.percentiles[4].high is None
    assert norms_of(squad(range(100, 600, 100)), {})[0].percentiles[2] == Percentile(300.0, None, None)


def test_an_athlete_is_left_out_of_their_own_norm():
    levels = [310.0, 250.0, 270.0, 290.0, 330.0, 900.0]
    last = norms_of(squad(levels), {})[0].each[-1]
    # Others: median 290, absolute deviations 20, 40, 20, 0, 40, so 20.
    assert (last.athlete, last.value, last.others, last.others_median) == ("MB-05", 900.0, 5, 290.0)
    assert last.robust_z == pytest.approx(610 / 20 * 0.674490, rel=1e-6)


def test_with_fewer_than_five_others_nothing_is_said_beside_a_value():
    assert norms_of(squad([100, 200, 300, 400, 500]), {})[0].each[0] == Beside("MB-00", 100, 4, None, None)


def test_a_robust_z_needs_others_that_differ():
    assert robust_z(310.0, [300.0] * 5) is None
    assert robust_z(310.0, [300.0] * 3 + [200.0, 500.0]) is None


def test_levels_per_body_mass_take_the_mass_stated_last():
    judged = (weighed(40, 90.0), weighed(20, 80.0), weighed(1, None))
    norms = norms_of(squad([320.0] * 5, judged=judged), {})
    per_mass = [norm for norm in norms if norm.measure is Measure.LEVEL_PER_BODY_MASS]
    assert [(norm.direction, norm.side) for norm in per_mass] == list(STRENGTHS)
    assert {median_of(norm) for norm in per_mass} == {4.0}


@pytest.mark.parametrize("judged", [(), (weighed(183, 80.0),)])
def test_without_a_recent_body_mass_nothing_is_divided_by_it(judged):
    norms = norms_of(squad([320.0] * 5, judged=judged), {})
    assert Measure.LEVEL_PER_BODY_MASS not in {norm.measure for norm in norms}


def test_a_pressure_is_not_divided_by_body_mass():
    cuff = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.PRESSURE_CUFF, Quantity.PRESSURE)
    norms = norms_of(squad([20_000.0] * 5, key=cuff, judged=(weighed(1, 80.0),)), {})
    assert Measure.LEVEL_PER_BODY_MASS not in {norm.measure for norm in norms}
