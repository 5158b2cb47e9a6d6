"""From log moments back to the unit of the series: level, interval, weekly per cent."""

import math
from dataclasses import dataclass

__all__ = ["LARGEST_LOG", "NORMAL_95", "Level", "level_of", "weekly_percent"]

NORMAL_95 = 1.959964
"""Half width of a central 95 % interval in SDs of a normal distribution, as the engine's equations print it."""
LARGEST_LOG = 700.0
"""Log levels stop here: beyond it the exponential leaves double precision, as overrides of the drift can make it."""
WEEK = 7.0
SHORTEST_HISTORY = 14.0
"""Days of history below which no weekly per cent is given."""
WEEKS_BACK = 4
"""The weekly per cent looks back this many weeks."""
LONGEST_LOOK_BACK = WEEKS_BACK * WEEK


@dataclass(frozen=True, slots=True)
class Level:
    """A level with its central 95 % interval, in the unit of the series."""

    level: float
    low: float
    high: float


def level_of(mean: float, variance: float) -> Level:
    """Level from the mean and variance of its logarithm."""
    half = NORMAL_95 * math.sqrt(max(variance, 0.0))
    level, low, high = (math.exp(min(end, LARGEST_LOG)) for end in (mean, mean - half, mean + half))
    return Level(level, low, high)


def weekly_percent(log_now: float, log_then: float, days: float) -> float:
    """Per cent per week that lead from one log level to another in a number of days.

    Examples
    --------
    >>> round(weekly_percent(0.04, 0.0, 28.0), 6)
    1.005017
    """
    return 100 * math.expm1((log_now - log_then) * WEEK / days)
