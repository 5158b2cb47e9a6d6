"""The protocol's defaults follow how the holds are done: common practice, no source.

Holds of about 5 s, alternating squeeze and spread, about 30 s between pairs, three pairs, a warm-up
rep at about 50 % and another at about 75 %; a knee angle of 45, 60 or 90 degrees, reproduced by the
athlete's bar height and foot mark. Each test runs such a session through the judge.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from stillset_core.history import judge_history
from stillset_core.judging.outcome import Standing
from stillset_core.protocol import (
    STANDARD_HOLD_S,
    STANDARD_PAIRS,
    STANDARD_REST_S,
    WARM_UP_PERCENTS,
    Protocol,
)
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Position,
    Purpose,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    StandardPosition,
)

START = datetime(2026, 9, 14, 17, 0, tzinfo=UTC)


def test_the_practice_is_the_one_described():
    assert (STANDARD_HOLD_S, STANDARD_REST_S, STANDARD_PAIRS, WARM_UP_PERCENTS) == (5.0, 30.0, 3, (50, 75))


def test_the_limits_leave_room_around_the_practice():
    protocol = Protocol()
    assert protocol.min_hold_s < STANDARD_HOLD_S < protocol.max_hold_s
    assert protocol.min_rest_s < STANDARD_REST_S
    assert protocol.reps_standard == STANDARD_PAIRS
    assert max(WARM_UP_PERCENTS) < protocol.min_intended_percent < 100
    whole_session = STANDARD_PAIRS * 2 * STANDARD_HOLD_S
    assert whole_session < protocol.max_prior_hard_s


def a_rep(direction, percent, started_s=None):
    return Rep(direction, STANDARD_HOLD_S, SideForce(300.0), SideForce(290.0), started_s, percent)


def a_set(minutes, reps, purpose=Purpose.TRAINING, position=None):
    return SetRecord(
        client_ref=f"set-{minutes:02d}",
        athlete="MB-07",
        performed_at=START + timedelta(minutes=minutes),
        position=position or Position("supine-bent-knee", bar_height=34.0, foot_mark="C"),
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=Quantity.FORCE,
        reps=tuple(reps),
        purpose=purpose,
    )


def pairs():
    """Three pairs: squeeze, then spread at once, then 30 s of rest."""
    per_pair = 2 * STANDARD_HOLD_S + STANDARD_REST_S
    for pair in range(STANDARD_PAIRS):
        yield a_rep(Direction.SQUEEZE, 100.0, pair * per_pair)
        yield a_rep(Direction.SPREAD, 100.0, pair * per_pair + STANDARD_HOLD_S)


@pytest.mark.parametrize("angle", [45.0, 60.0, 90.0])
def test_a_session_as_it_is_usually_done_gives_a_reading_of_three_maximal_reps_each_way(angle):
    """The angle was set once; on the day only the bar height and the foot mark are looked at."""
    standard = StandardPosition(
        Position("supine-bent-knee", knee_angle_deg=angle, bar_height=34.0, foot_mark="C"),
        InstrumentKind.FIXED_FRAME,
        date(2026, 7, 1),
        measured_by="goniometer",
    )
    warm_up = a_set(
        0, [a_rep(direction, percent) for percent in WARM_UP_PERCENTS for direction in Direction], Purpose.WARM_UP
    )
    maximal = a_set(4, pairs())
    before, counted = judge_history([warm_up, maximal], (standard,), Protocol())
    assert [outcome.standing for outcome in before.outcome] == [Standing.SET_ASIDE] * 2
    assert [outcome.standing for outcome in counted.outcome] == [Standing.COUNTS] * 2
    for outcome in counted.outcome:
        assert outcome.cautions == ()
        assert outcome.reading.maximal_reps == STANDARD_PAIRS
        assert outcome.reading.adjusted_left == outcome.reading.left == 300.0


def test_warm_up_reps_logged_as_part_of_the_training_set_spoil_nothing():
    standard = StandardPosition(
        Position("supine-bent-knee", 60.0, bar_height=34.0), InstrumentKind.FIXED_FRAME, date(2026, 7, 1)
    )
    reps = [a_rep(direction, percent) for percent in WARM_UP_PERCENTS for direction in Direction]
    (judged,) = judge_history([a_set(0, [*reps, *pairs()])], (standard,), Protocol())
    assert [outcome.standing for outcome in judged.outcome] == [Standing.COUNTS] * 2
    assert judged.outcome[0].reading.maximal_reps == STANDARD_PAIRS
