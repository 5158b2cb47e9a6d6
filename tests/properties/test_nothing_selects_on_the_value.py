"""Nothing selects on the value: a declining athlete's late sets are admitted as the early ones were.

And what a rule that does would hide: with the typical error of 5.57 % that the engine assumes and a true fall of
10 %, keeping only readings within 7.5 % of the old level keeps 31.07 % of them, whose geometric mean shows a fall of
4.15 %. Both follow from the normal distribution of the log readings cut off at both ends (moments of the truncated
normal, scipy.stats.truncnorm).
"""

import math
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from scipy.stats import norm, truncnorm

from stillset_core.history import judge_history, readings_of
from stillset_core.judging.outcome import Standing
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

ATHLETES = 20
SETS = 120
"""Sets of each athlete: the first half before the decline, the second after it."""
START = datetime(2030, 1, 7, 16, tzinfo=UTC)
STANDARD = StandardPosition(Position("supine-bent-knee", 60.0), InstrumentKind.FIXED_FRAME, date(2029, 1, 1))
OLD_LEVEL = 300.0
TYPICAL_ERROR = math.hypot(0.052, 0.02)
FALL = math.log(0.9)
GATE = (math.log(0.925), math.log(1.075))


def season(seed, fall):
    """Sets of one athlete, some spoilt as in any gym, whose true level falls by a factor at half time."""
    rng = np.random.default_rng(seed)
    records = []
    for number in range(SETS):
        level = OLD_LEVEL * (fall if number >= SETS // 2 else 1.0)
        planned = float(rng.choice([100, 100, 100, 80]))
        peak = level * math.exp(rng.normal(0, TYPICAL_ERROR)) * planned / 100
        force = SideForce(peak)
        rep = Rep(
            direction=Direction.SQUEEZE,
            hold_s=float(rng.uniform(2.5, 6.0)),
            left=force,
            right=force,
            intended_percent=None if rng.random() < 0.1 else planned,
        )
        records.append(
            SetRecord(
                client_ref=f"set-{number:03d}",
                athlete="MB-07",
                performed_at=START + timedelta(days=2 * number),
                position=Position("supine-bent-knee", float(rng.normal(60, 3))),
                instrument=Instrument(InstrumentKind.FIXED_FRAME),
                quantity=Quantity.FORCE,
                reps=(rep,) * 3,
            )
        )
    return records


def judged_season(seed, fall):
    return judge_history(season(seed, fall), (STANDARD,), Protocol())


def log_readings(judged):
    """Log of each counting reading over the old level, as it was measured."""
    return [math.log(one.value.left / OLD_LEVEL) for one in readings_of(judged) if one.counts]


@pytest.fixture(scope="module")
def halves():
    """Judged sets of all athletes before and after a decline of 10 %."""
    seasons = [judged_season(seed, 0.9) for seed in range(ATHLETES)]
    half = SETS // 2
    return [one for judged in seasons for one in judged[:half]], [one for judged in seasons for one in judged[half:]]


def rate(judged, standing):
    return np.mean([one.outcome[0].standing is standing for one in judged])


@pytest.mark.parametrize("standing", Standing)
def test_late_sets_of_a_declining_athlete_stand_as_often_as_early_ones(halves, standing):
    early, late = (rate(half, standing) for half in halves)
    error = math.sqrt(early * (1 - early) * 2 / len(halves[0]))
    assert 0.05 < early < 0.75  # every standing occurs, so that a difference could show
    assert abs(late - early) < 3 * error


@pytest.mark.parametrize("fall", [0.9, 0.7, 0.3])
def test_the_same_sets_stand_the_same_however_far_the_level_has_fallen(fall):
    for seed in range(5):
        fallen, steady = judged_season(seed, fall), judged_season(seed, 1.0)
        assert [one.outcome[0].standing for one in fallen] == [one.outcome[0].standing for one in steady]


def test_the_readings_admitted_show_the_whole_decline(halves):
    shown = np.mean(log_readings(halves[1])) - np.mean(log_readings(halves[0]))
    assert 100 * math.expm1(shown) == pytest.approx(-10.0, abs=1.0)  # the standard error is about 0.3


def test_a_gate_on_the_value_would_hide_more_than_half_of_it():
    rng = np.random.default_rng(46)
    logs = FALL + rng.normal(0, TYPICAL_ERROR, 200_000)
    kept = logs[(logs > GATE[0]) & (logs < GATE[1])]
    low, high = ((end - FALL) / TYPICAL_ERROR for end in GATE)
    cut_off = truncnorm(low, high, loc=FALL, scale=TYPICAL_ERROR)
    assert 100 * (norm.cdf(high) - norm.cdf(low)) == pytest.approx(31.07, abs=0.02)
    assert 100 * math.expm1(cut_off.mean()) == pytest.approx(-4.154, abs=0.005)
    assert 100 * kept.size / logs.size == pytest.approx(31.07, abs=0.4)
    assert 100 * math.expm1(kept.mean()) == pytest.approx(-4.154, abs=0.2)


def test_with_that_gate_the_rates_of_admission_would_differ(halves):
    early, late = (np.mean([GATE[0] < log < GATE[1] for log in log_readings(half)]) for half in halves)
    assert early > 0.75  # 82 % without a fall
    assert late < 0.45
