"""Control charts on the counting readings of a season, and the rule of a monthly test day.

The charts (EWMA: S. W. Roberts 1959; CUSUM: E. S. Page 1954) watch left, right and their mean of both
directions against a target that is either fixed after the first six weeks or trails by four weeks. Each
athlete's own SD is learned from successive readings. The rule of the test day compares each test with an
earlier one and calls a fall beyond the minimal detectable change (J. P. Weir 2005).
"""

import math
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from squad_simulator import Season

from stillset_core.records import Direction
from stillset_core.trend.calling import FIRST_CALL_DAY
from stillset_core.trend.compiled import compiled
from stillset_core.trend.rows import days_between

Track = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Day and statistic at each instant of a season at which a detector may call."""

TRAIL_FROM, TRAIL_TO = 84.0, 28.0
"""A trailing target is the mean of the readings this many days back."""
SD_READINGS = 10.0
"""The group's SD weighs as much as so many differences of the athlete's own."""
WIDEST = 3.0
"""Differences beyond so many SDs are cut there before they make the athlete's SD."""
MEAN_SD = 0.885
"""SD of the mean of both sides over that of one side, at the noise of the model."""


class Chart(NamedTuple):
    """A chart's setting.

    ``weight`` is the EWMA's, ``slack`` the CUSUM's in SDs (the other is 0); residuals are cut at ``cut`` SDs.
    """

    weight: float
    slack: float
    trailing: bool
    cut: float


EWMA_CHARTS = tuple(
    Chart(weight, 0.0, *rest) for weight, *rest in product((0.1, 0.2, 0.35, 0.5), (False, True), (2.5, math.inf))
)
TEXTBOOK_EWMA = Chart(weight=0.2, slack=0.0, trailing=False, cut=math.inf)
"""The chart as it is usually set up: nothing tuned, a fixed target, outliers let through."""
CUSUM_CHARTS = tuple(
    Chart(0.0, slack, *rest) for slack, *rest in product((0.25, 0.5, 1.0), (False, True), (2.5, math.inf))
)


def chart_track(season: Season, chart: Chart, error: float) -> Track:
    """Highest of the chart's downward statistics after each counting set; `error` is the group's typical error."""
    counting = [reading for reading in season.readings if reading.counts]
    at = [reading.performed_at for reading in counting if reading.direction is Direction.SQUEEZE]
    day = np.array([days_between(season.readings[0].performed_at, one) for one in at])
    logs = np.log([(reading.value.left, reading.value.right) for reading in counting]).reshape(-1, 4)
    means = (logs[:, ::2] + logs[:, 1::2]) / 2
    sd = error * np.array([1.0, 1.0, 1.0, 1.0, MEAN_SD, MEAN_SD])
    return day, _chart_statistic(day, np.column_stack((logs, means)), sd, chart)


@compiled
def _chart_statistic(
    day: NDArray[np.float64], logs: NDArray[np.float64], group_sd: NDArray[np.float64], chart: Chart
) -> NDArray[np.float64]:
    """Highest downward statistic over the channels (columns of `logs`) at each instant."""
    highest = np.zeros(day.size)
    for channel in range(group_sd.size):
        squares = SD_READINGS
        weight = SD_READINGS
        now = 0.0
        for i in range(1, day.size):
            step = (logs[i, channel] - logs[i - 1, channel]) / (math.sqrt(2.0) * group_sd[channel])
            squares += min(step * step, WIDEST * WIDEST)
            weight += 1.0
            begin = day[i] - TRAIL_FROM if chart.trailing else 0.0
            end = day[i] - TRAIL_TO if chart.trailing else FIRST_CALL_DAY
            total = 0.0
            count = 0
            for j in range(i):
                if begin <= day[j] < end:
                    total += logs[j, channel]
                    count += 1
            if count == 0 or (not chart.trailing and day[i] < FIRST_CALL_DAY):
                continue
            fall = (total / count - logs[i, channel]) / (group_sd[channel] * math.sqrt(squares / weight))
            fall = max(-chart.cut, min(chart.cut, fall))
            if chart.weight > 0:
                now += chart.weight * (fall - now)
                highest[i] = max(highest[i], now / math.sqrt(chart.weight / (2 - chart.weight)))
            else:
                now = max(0.0, now + fall - chart.slack)
                highest[i] = max(highest[i], now)
    return highest


TEST_EVERY = 28.0
REFERENCES = ("first", "before", "three before")
"""What a test is compared with: the first test, the one before it, or the mean of the (up to) three before."""


def track_of_tests(logs: NDArray[np.float64], reference: str, error: float) -> Track:
    """Largest fall of a side from its reference after each monthly test (T, 4), in minimal detectable changes."""
    change = 1.96 * math.sqrt(2) * error
    falls = [0.0]
    for i in range(1, len(logs)):
        first = {"first": 0, "before": i - 1, "three before": max(0, i - 3)}[reference]
        last = 1 if reference == "first" else i
        falls.append(float(np.max(logs[first:last].mean(axis=0) - logs[i])) / change)
    return np.arange(len(logs)) * TEST_EVERY, np.array(falls)
