"""The squad's own error: which readings are paired, and what a simulated squad gives."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from squad_simulator import Habits, season_of

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import STRENGTHS, Direction, InstrumentKind, Quantity, Side
from stillset_core.series import Reading, SeriesKey
from stillset_core.squad_error import squad_errors

START = datetime(2030, 1, 7, 16, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
TRUE_SD = math.hypot(0.052, 0.02)
"""Noise within and between sessions of the simulator, for its best of three."""


def a_reading(day, left=300.0, right=290.0, *, direction=Direction.SQUEEZE, session=None, key=KEY, reps=3):
    value = Counted(left, right, left, right, reps, reps, reps)
    chosen = int(day) if session is None else session
    return Reading(f"set-{day:08.3f}", START + timedelta(days=day), chosen, direction, value, key)


def left_squeeze(readings, roles=None, **settings):
    found = squad_errors(readings, roles or {}, Protocol.model_validate(settings))
    return [one for one in found if (one.group.direction, one.group.side) == (Direction.SQUEEZE, Side.LEFT)]


def pairs(*readings, **more):
    return sum(one.pairs for one in left_squeeze({"MB-01": readings}, **more))


def noisy_squad(athletes=6, sessions=8, seed=0, middle=300.0, **reading):
    rng = np.random.default_rng(seed)
    return {
        f"MB-{athlete:02d}": [
            a_reading(3 * number, *(middle * np.exp(0.1 * athlete + rng.normal(0, 0.06, 2))).tolist(), **reading)
            for number in range(sessions)
        ]
        for athlete in range(athletes)
    }


@pytest.mark.parametrize(("days", "expected"), [(0.5, 1), (7, 1), (7.001, 0)])
def test_readings_of_different_sessions_are_paired_up_to_seven_days_apart(days, expected):
    assert pairs(a_reading(0), a_reading(days, session=1)) == expected


def test_no_reading_is_in_two_pairs():
    assert pairs(*(a_reading(day) for day in (0, 2, 4))) == 1
    assert pairs(*(a_reading(day) for day in (0, 2, 4, 6))) == 2
    assert pairs(*(a_reading(day) for day in (0, 20, 22, 24, 26))) == 2


def test_of_a_session_the_first_reading_is_taken_whatever_its_value():
    readings = [a_reading(0), a_reading(0.02, 999.0, session=0), a_reading(2), a_reading(2.02, 1.0, session=2)]
    assert pairs(*readings[:2]) == 0
    (found,) = left_squeeze({f"MB-{n}": readings for n in range(5)})
    assert found.pairs == 5
    assert found.findings is None  # all firsts are equal


def test_readings_of_other_series_bounds_and_missing_sides_make_no_pair():
    other = SeriesKey("supine", 45.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
    light = Reading("light", START + timedelta(days=1), 1, Direction.SQUEEZE, Bound(300.0, 300.0), KEY)
    assert pairs(a_reading(0), a_reading(2, key=other)) == 0
    assert pairs(a_reading(0), light) == 0
    assert pairs(a_reading(0), a_reading(2, left=None)) == 0
    assert pairs(a_reading(0), a_reading(2, direction=Direction.SPREAD)) == 0


def test_a_bound_between_two_readings_does_not_part_them():
    light = Reading("light", START + timedelta(days=1), 1, Direction.SQUEEZE, Bound(300.0, 300.0), KEY)
    assert pairs(a_reading(0), light, a_reading(2)) == 1


def test_the_squad_comes_before_its_roles_for_each_direction_and_side():
    squad = noisy_squad() | {"MB-99": [a_reading(day, direction=Direction.SPREAD) for day in (0, 2)]}
    roles = dict.fromkeys(squad, "wing") | {"MB-00": "back", "MB-01": None}
    groups = [(one.group.direction, one.group.side, one.group.role) for one in squad_errors(squad, roles, Protocol())]
    squeeze, spread = [None, "back", "wing"], [None, "wing"]
    assert groups == [
        (direction, side, role)
        for direction, side in STRENGTHS
        for role in (squeeze if direction is Direction.SQUEEZE else spread)
    ]


def test_kinds_of_instrument_and_quantities_never_share_a_row():
    keys = [
        SeriesKey("supine", 60.0, kind, quantity)
        for kind in (InstrumentKind.FIXED_FRAME, InstrumentKind.HAND_HELD)
        for quantity in (Quantity.FORCE, Quantity.TORQUE)
    ]
    readings = [a_reading(10 * place + day, key=key) for place, key in enumerate(keys) for day in (0, 2)]
    found = left_squeeze({"MB-01": readings})
    assert [(one.group.instrument_kind, one.group.quantity, one.pairs) for one in found] == [
        (key.instrument_kind, key.quantity, 1) for key in sorted(keys)
    ]


@pytest.mark.parametrize(("athletes", "sessions", "speaks"), [(5, 2, True), (4, 2, False), (3, 4, True), (2, 8, False)])
def test_below_five_pairs_or_three_athletes_there_is_silence_with_n(athletes, sessions, speaks):
    (found,) = left_squeeze(noisy_squad(athletes, sessions))
    assert (found.athletes, found.pairs) == (athletes, athletes * sessions // 2)
    assert (found.findings is not None) is speaks


def test_level_correlation_and_spread_are_of_the_athletes_net_of_error():
    rng = np.random.default_rng(5)
    squad = {
        f"MB-{n:02d}": [a_reading(3 * i, 300 * math.exp(level + rng.normal(0, 0.06)), None) for i in range(20)]
        for n, level in enumerate(np.linspace(-0.3, 0.3, 21))
    }
    (found,) = left_squeeze(squad)
    between = float(np.std(np.linspace(-0.3, 0.3, 21), ddof=1))
    assert found.findings.level == pytest.approx(300, rel=0.02)
    assert found.findings.between_log_sd == pytest.approx(between, rel=0.03)
    expected = between**2 / (between**2 + 0.06**2)
    assert found.findings.icc.value == pytest.approx(expected, abs=0.02)
    assert found.findings.icc.low < expected < found.findings.icc.high
    assert (found.findings.icc.n, found.findings.log_sd.n) == (21, 210)


def test_athletes_who_do_not_differ_have_no_spread_and_a_correlation_of_nought():
    rng = np.random.default_rng(1)
    squad = {f"MB-{n}": [a_reading(3 * i, 300 * math.exp(rng.normal(0, 0.06))) for i in range(20)] for n in range(4)}
    (found,) = left_squeeze(squad)
    assert found.findings.icc.low == 0
    assert found.findings.between_log_sd is None or found.findings.between_log_sd < 0.02


def test_athletes_in_other_positions_are_compared_within_their_position():
    far = SeriesKey("long-lever", 0.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
    light, heavy = noisy_squad(6, 12), noisy_squad(6, 12, middle=900.0, key=far)
    alone = left_squeeze(light)[0]
    both = left_squeeze(light | {f"L-{ref}": readings for ref, readings in heavy.items()})[0]
    assert both.athletes == 12
    assert both.findings.between_log_sd == pytest.approx(alone.findings.between_log_sd, rel=0.01)
    assert both.findings.log_sd.value == pytest.approx(alone.findings.log_sd.value, rel=0.02)


def test_an_error_of_single_reps_is_brought_to_the_protocols_rep_count():
    # A best of one scatters more than a best of three: the same differences mean a smaller error of three.
    single, triple = (left_squeeze(noisy_squad(8, 12, reps=reps))[0] for reps in (1, 3))
    excess = 0.04**2 * (1 - 0.5594672038)
    ratio = math.sqrt(TRUE_SD**2 / (TRUE_SD**2 + excess))
    assert single.findings.log_sd.value / triple.findings.log_sd.value == pytest.approx(ratio, rel=0.01)
    assert single.assumed_percent == pytest.approx(100 * math.expm1(TRUE_SD))


def test_the_drift_taken_out_is_that_of_the_protocol():
    squad = noisy_squad(8, 12)
    still, moving = (left_squeeze(squad, trend=EngineOverrides(drift_per_sqrt_day=drift))[0] for drift in (0.0, 0.02))
    assert moving.findings.log_sd.value < still.findings.log_sd.value


@pytest.mark.parametrize("share", [0.0, 0.9999999999999999])
def test_any_share_of_outliers_is_taken(share):
    (found,) = left_squeeze(noisy_squad(8, 12), trend=EngineOverrides(outlier_share=share))
    assert 0.02 < found.findings.log_sd.value < 0.1


@pytest.mark.parametrize("spread", [0.0, 0.25])
def test_a_simulated_squad_gives_back_the_error_of_its_usual_athlete(spread):
    # 5 % outliers, unlabelled and lighter sets between, drift; noise scales spread by 0 or 0.25 on the log scale.
    habits = Habits(weeks=12, noise_scale_spread=spread)
    errors = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        squad = {f"MB-{n:02d}": season_of(rng, habits).readings for n in range(12)}
        errors += [one.findings.log_sd for one in squad_errors(squad, {}, Protocol())]
    assert len(errors) == 48
    assert np.median([error.value for error in errors]) == pytest.approx(TRUE_SD, rel=0.03)
    held = sum(error.low <= TRUE_SD <= error.high for error in errors)
    # 95 % of 48; sides of one squad are not independent.
    assert held >= 43
    assert all(error.n > 100 for error in errors)
