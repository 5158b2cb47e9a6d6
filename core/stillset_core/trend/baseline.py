"""When the baseline of each direction is complete: where the filter clones its levels."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from stillset_core.protocol import BaselineDates, BaselineReadings, BaselineWeeks
from stillset_core.records import Direction
from stillset_core.series import Reading
from stillset_core.trend.filtering import Clones
from stillset_core.trend.rows import days_between, first_of

__all__ = ["Baseline", "clones_for"]

Baseline = BaselineReadings | BaselineDates | BaselineWeeks


def clones_for(readings: Sequence[Reading], baseline: Baseline, as_of: datetime) -> Clones:
    """When to clone the levels of squeeze and spread.

    Parameters
    ----------
    readings : sequence of R Reading
        In the engine's order; at least one.
    baseline : BaselineReadings or BaselineDates or BaselineWeeks
        A number of counting readings of the direction: right after the last of them. Dates: the end of
        the last day in UTC. Weeks: that long after the first reading. A window ends before the readings
        of its last instant, and is complete only with a counting reading of the direction before its end.
    as_of : datetime
        A window that ends later is not complete.

    Returns
    -------
    Clones
    """
    after = np.full(2, -1, dtype=np.int64)
    day = np.zeros(2)
    for direction in Direction:
        counting = [i for i, reading in enumerate(readings) if reading.counts and reading.direction is direction]
        end = _end(readings, counting, baseline)
        if end is None or end[1] > as_of or not counting or counting[0] >= end[0]:
            continue
        slot = first_of(direction) // 2
        after[slot] = end[0]
        day[slot] = days_between(readings[0].performed_at, end[1])
    return Clones(after, day)


def _end(readings: Sequence[Reading], counting: Sequence[int], baseline: Baseline) -> tuple[int, datetime] | None:
    """Find the number of readings before the end of the window, and the instant of the end."""
    if isinstance(baseline, BaselineReadings):
        if len(counting) < baseline.readings:
            return None
        last = counting[baseline.readings - 1]
        return last + 1, readings[last].performed_at
    if isinstance(baseline, BaselineDates):
        if baseline.to == date.max:
            return None  # The calendar ends before the window does.
        end = datetime.combine(baseline.to, time(), tzinfo=UTC) + timedelta(days=1)
    else:
        end = readings[0].performed_at + timedelta(weeks=baseline.weeks)
    return sum(reading.performed_at < end for reading in readings), end
