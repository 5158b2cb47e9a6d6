"""From statistics to calls: one threshold per method at one rate of false calls, then delays and their errors."""

import math
from typing import NamedTuple

import numpy as np
from charts import Track
from numpy.typing import NDArray

from stillset_core.trend.calling import FIRST_CALL_DAY, QUIET_DAYS, crossings
from stillset_core.trend.compiled import compiled

CANDIDATES = 600
"""Number of thresholds that are tried."""
SOON_DAYS = 56.0
"""A call within so many days of the onset finds the decline."""


class Rate(NamedTuple):
    """Mean and its Monte-Carlo standard error."""

    value: float
    error: float


class Delay(NamedTuple):
    """Median days from onset to call with its standard error (nan if not reached), and the share called soon."""

    median: float
    error: float
    soon: float


@compiled
def calls_at(
    day: NDArray[np.float64], statistic: NDArray[np.float64], thresholds: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Number of calls in one season at each constant threshold: the engine's rule, compiled."""
    calls = np.zeros(thresholds.size)
    for k in range(thresholds.size):
        above = False
        last = -np.inf
        for i in range(day.size):
            if day[i] < FIRST_CALL_DAY:
                continue
            if statistic[i] < thresholds[k]:
                above = False
            elif not above and day[i] - last >= QUIET_DAYS:
                above = True
                last = day[i]
                calls[k] += 1
    return calls


def call_days(track: Track, threshold: float) -> NDArray[np.float64]:
    """Days of the calls in one season."""
    day, statistic = track
    return day[list(crossings(day, statistic, np.full(day.size, threshold))[0])]


def threshold_for_rate(tracks: list[Track], wanted: float) -> float:
    """Threshold at which seasons have so many calls on average, sought from the top down."""
    pooled = np.concatenate([statistic[day >= FIRST_CALL_DAY] for day, statistic in tracks])
    candidates = np.unique(np.quantile(pooled, np.linspace(1.0, 0.5, CANDIDATES)))[::-1]
    rates = np.mean([calls_at(day, statistic, candidates) for day, statistic in tracks], axis=0)
    reached = np.flatnonzero(rates >= wanted)
    if reached.size == 0:
        return float(candidates[np.argmax(rates)])
    i = int(reached[0])
    if i == 0:
        return float(candidates[0])
    share = (wanted - rates[i - 1]) / (rates[i] - rates[i - 1])
    return float(candidates[i - 1] + share * (candidates[i] - candidates[i - 1]))


def rate_of(counts: list[int]) -> Rate:
    """Mean number of calls per season."""
    return Rate(float(np.mean(counts)), float(np.std(counts) / math.sqrt(len(counts))))


def delay_of(days: list[NDArray[np.float64]], onsets: list[float]) -> Delay:
    """Delay of the first call at or after each onset; a season without one is infinitely late."""
    late = [min(called[called >= onset] - onset, default=math.inf) for called, onset in zip(days, onsets, strict=True)]
    delays = np.sort(np.array(late, dtype=np.float64))
    # One SE of the median: the order statistics half a root of n to either side of the middle.
    reach = math.sqrt(delays.size) / 2
    low = delays[max(0, math.floor(delays.size / 2 - reach))]
    high = delays[min(delays.size - 1, math.ceil(delays.size / 2 + reach) - 1)]
    median = float(delays[(delays.size - 1) // 2])
    soon = float(np.mean(delays <= SOON_DAYS))
    if not math.isfinite(median):
        return Delay(median, math.nan, soon)
    return Delay(median, float((high - low) / 2 if math.isfinite(high) else median - low), soon)


def ratio_of(delay: Delay, other: Delay) -> Rate:
    """Ratio of two medians and its standard error, as if the two were independent; nan where neither is reached."""
    if not math.isfinite(delay.median):
        return Rate(math.nan if not math.isfinite(other.median) else math.inf, math.nan)
    if not math.isfinite(other.median):
        return Rate(0.0, 0.0)
    ratio = delay.median / other.median
    return Rate(ratio, ratio * math.hypot(delay.error / delay.median, other.error / other.median))
