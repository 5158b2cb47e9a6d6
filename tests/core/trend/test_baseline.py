from datetime import date

import pytest

from stillset_core.protocol import BaselineDates, BaselineReadings, BaselineWeeks
from stillset_core.records import Direction
from stillset_core.trend import State
from stillset_core.trend.baseline import Baseline, clones_for


def clones(log, baseline: Baseline, as_of: float) -> list[tuple[int, float]]:
    found = clones_for(sorted(log.readings, key=lambda reading: reading.order), baseline, log.at(as_of))
    return list(zip(found.after.tolist(), found.day.tolist(), strict=True))


def test_the_sixth_counting_reading_of_a_direction_ends_its_baseline(log) -> None:
    for day in range(8):
        log.counts(day).at_least(day + 0.5)
        if day < 5:
            log.counts(day, direction=Direction.SPREAD)
    squeeze, spread = clones(log, BaselineReadings(readings=6), 20)
    assert squeeze == (16, 5.0)  # five days of three readings, and the sixth squeeze
    assert spread[0] == -1


def test_dates_end_the_baseline_at_midnight_utc_after_the_last_day(log) -> None:
    log.counts(0).counts(1).counts(2)  # the log starts on 7 January at 16:00 UTC
    baseline = BaselineDates.model_validate({"from": date(2030, 1, 1), "to": date(2030, 1, 8)})
    assert clones(log, baseline, 20)[0] == (2, pytest.approx(1 + 1 / 3))
    assert clones(log, baseline, 1.3)[0][0] == -1


def test_dates_up_to_the_end_of_the_calendar_never_end(log) -> None:
    log.counts(0).counts(1)
    baseline = BaselineDates.model_validate({"from": date.min, "to": date.max})
    assert clones(log, baseline, 20)[0][0] == -1


def test_weeks_are_counted_from_the_first_reading_of_the_series(log) -> None:
    log.at_least(0, direction=Direction.SPREAD).counts(3).counts(7).counts(9)
    squeeze, spread = clones(log, BaselineWeeks(weeks=1), 20)
    assert squeeze == (2, 7.0)  # what is done at the very end belongs to the time after
    assert spread[0] == -1


def test_no_counting_reading_in_the_window_means_no_baseline(log) -> None:
    log.counts(0).counts(30, direction=Direction.SPREAD)
    squeeze, spread = clones(log, BaselineWeeks(weeks=2), 40)
    assert squeeze == (1, 14.0)
    assert spread[0] == -1


def test_at_the_end_of_the_baseline_the_change_is_zero(log) -> None:
    for day in range(6):
        log.counts(day * 3)
    side = log.trend().squeeze.left
    assert (side.change_percent, side.change_low, side.change_high) == (0.0, 0.0, 0.0)
    assert side.state is State.HOLDING
    assert side.baseline == pytest.approx(side.level)


def test_a_side_first_measured_after_the_baseline_has_none(log) -> None:
    for day in range(12):
        log.counts(day * 3, right=None if day < 6 else 300.0)
    trend = log.trend()
    assert trend.squeeze.left.change_percent is not None
    assert trend.squeeze.right.level is not None
    assert trend.squeeze.right.change_percent is None
    assert trend.squeeze.right.state is State.TOO_FEW
