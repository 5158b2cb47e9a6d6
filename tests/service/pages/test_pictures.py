"""The tiny pictures in the rows of the board."""

import re
from datetime import UTC, date, datetime, timedelta

from stillset_core.pipeline import AthleteHistory, derive
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
from stillset_service.pages.pictures import HEIGHT, WIDTH, trend_picture

PLACE = Position("supine-bent-knee", knee_angle_deg=60)
AS_OF = datetime(2026, 6, 30, tzinfo=UTC)


def trend(left, right):
    """Derive the trend of sets a week apart, the last on the day of the picture."""
    records = [
        SetRecord(
            client_ref=f"set-{week}",
            athlete="A",
            performed_at=AS_OF - timedelta(weeks=len(left) - 1 - week),
            position=PLACE,
            instrument=Instrument(InstrumentKind.FIXED_FRAME),
            quantity=Quantity.FORCE,
            reps=(
                Rep(
                    Direction.SQUEEZE,
                    5.0,
                    left=SideForce(peak),
                    right=None if right is None else SideForce(right[week]),
                    intended_percent=100,
                ),
            ),
        )
        for week, peak in enumerate(left)
    ]
    standard = StandardPosition(PLACE, InstrumentKind.FIXED_FRAME, date(2025, 1, 1))
    return derive(AthleteHistory(tuple(records), (standard,), Protocol(), None), AS_OF).trends[0]


def heights(path):
    return [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", path)]


def test_one_session_makes_no_picture():
    assert trend_picture(trend([300.0], [300.0]), Direction.SQUEEZE, (True, True)) is None


def test_a_direction_without_a_level_makes_no_picture():
    assert trend_picture(trend([300.0] * 5, [300.0] * 5), Direction.SPREAD, (False, False)) is None


def test_strength_that_falls_is_a_line_that_falls():
    picture = trend_picture(
        trend([300.0 - 8 * week for week in range(12)], [300.0] * 12), Direction.SQUEEZE, (True, True)
    )
    assert heights(picture.left)[-1] > heights(picture.left)[0] + 5
    assert abs(heights(picture.right)[-1] - heights(picture.right)[0]) < 5


def test_small_changes_are_not_blown_up_to_the_full_height():
    picture = trend_picture(trend([300.0, 301.0] * 6, [300.0] * 12), Direction.SQUEEZE, (True, True))
    assert max(heights(picture.left)) - min(heights(picture.left)) < HEIGHT / 8


def test_a_side_without_a_level_has_no_line():
    picture = trend_picture(trend([300.0] * 12, None), Direction.SQUEEZE, (True, False))
    assert picture.left
    assert picture.right == picture.right_now == picture.right_base == ""


def test_everything_stays_inside_the_box():
    picture = trend_picture(trend([300.0, 500.0, 150.0] * 4, [300.0] * 12), Direction.SQUEEZE, (True, True))
    for path in (picture.left, picture.right, picture.left_now, picture.right_now):
        assert all(0 <= y <= HEIGHT for y in heights(path))
        assert all(0 <= float(x) <= WIDTH for x in re.findall(r"[ML]([\d.]+) ", path))
