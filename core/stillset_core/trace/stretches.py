"""Stretches of force that are long and high enough for a rep, in one direction on one side."""

from collections.abc import Mapping
from typing import Final

import numpy as np

from stillset_core.records import Quantity
from stillset_core.trace.runs import ROUNDING, Floats, Runs, runs

__all__ = ["FLOOR", "moving_mean", "stretches"]

FLOOR: Final[Mapping[Quantity, float]] = {Quantity.FORCE: 20.0, Quantity.TORQUE: 6.0, Quantity.PRESSURE: 800.0}
"""No rep below this, in SI; half of it is where an offset deserves a caution."""
ONSET_SHARE: Final = 0.2
SMOOTHING_S: Final = 0.1
"""Five periods of 50 Hz, six of 60 Hz."""
SHORTEST_DIP_S: Final = 0.2
SHORTEST_STRETCH_S: Final = 0.2


def stretches(force: Floats, smooth: Floats, floor: float, rate_hz: float) -> Runs:
    """Start and stop of each stretch of positive force above max(floor, 20 % of its peak), array (K, 2)."""
    rises = [np.empty((0, 2), dtype=np.intp)]
    for begin, end in runs(smooth > floor):
        threshold = max(floor, ONSET_SHARE * float(smooth[begin:end].max()))
        rises.append(runs(smooth[begin:end] > threshold) + begin)
    merged = _without_dips(np.concatenate(rises), SHORTEST_DIP_S * rate_hz)
    long_enough = merged[merged[:, 1] - merged[:, 0] >= SHORTEST_STRETCH_S * rate_hz - ROUNDING]
    return long_enough[[bool((force[begin:end] > floor).any()) for begin, end in long_enough]]


def _without_dips(rises: Runs, shortest: float) -> Runs:
    if len(rises) < 2:
        return rises
    apart = rises[1:, 0] - rises[:-1, 1] >= shortest
    starts = rises[np.concatenate(([True], apart)), 0]
    stops = rises[np.concatenate((apart, [True])), 1]
    return np.column_stack((starts, stops))


def moving_mean(samples: Floats, rate_hz: float) -> Floats:
    """Centred mean over 0.1 s, over what there is of it at the ends."""
    half = round(SMOOTHING_S * rate_hz) // 2
    total = np.concatenate(([0.0], np.cumsum(samples)))
    places = np.arange(samples.size)
    stops = np.minimum(places + half + 1, samples.size)
    starts = np.maximum(places - half, 0)
    mean: Floats = (total[stops] - total[starts]) / (stops - starts)
    return mean
