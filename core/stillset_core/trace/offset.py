"""The zero of a trace: the level at which it rests."""

from typing import Final

import numpy as np

from stillset_core.trace.runs import Flags, Floats, only_runs
from stillset_core.trace.stretches import stretches

__all__ = ["rests", "zero_offset"]

REST_CHANGE: Final = 0.02
REST_SPAN_S: Final = 0.1
"""At rest the smoothed force changes by no more than this share of the highest force (or a twentieth of the floor) from
so long before to so long after. That is 10 % of the highest force in a second; holds are built up faster."""
LOWEST_SHARE: Final = 0.1
SHORTEST_REST_S: Final = 0.5
_ROUNDS: Final = 20
"""Two or three are usual."""


def zero_offset(samples: Floats, smooth: Floats, floor: float, rate_hz: float) -> float:
    """Median of the samples at rest outside reps, in keeping with the reps that it leads to."""
    resting = rests(smooth, floor, rate_hz)
    offset = _resting_level(smooth, resting, floor, rate_hz)
    for _ in range(_ROUNDS):  # pragma: no branch
        outside = _outside_reps(samples - offset, smooth - offset, floor, rate_hz)
        if not outside.any():
            return 0.0
        at_rest = samples[outside & resting]
        if not at_rest.size:
            return _lowest(samples[outside])
        median = float(np.median(at_rest))
        if median == offset:
            break
        offset = median
    return offset


def rests(smooth: Floats, floor: float, rate_hz: float) -> Flags:
    """Mark where the force hardly changes."""
    span = max(round(REST_SPAN_S * rate_hz), 1)
    padded = np.pad(smooth, span, mode="edge")
    change = np.abs(padded[2 * span :] - padded[: -2 * span])
    still: Flags = change <= max(floor / 20, REST_CHANGE * float(np.abs(smooth).max()))
    return still


def _outside_reps(force: Floats, smooth: Floats, floor: float, rate_hz: float) -> Flags:
    outside = np.ones(force.size, dtype=bool)
    for sign in (1.0, -1.0):
        for begin, end in stretches(sign * force, sign * smooth, floor, rate_hz):
            outside[begin:end] = False
    return outside


def _lowest(samples: Floats) -> float:
    """Median of the tenth of the samples that is nearest to zero."""
    nearest = np.argsort(np.abs(samples))[: max(int(LOWEST_SHARE * samples.size), 1)]
    return float(np.median(samples[nearest]))


def _resting_level(smooth: Floats, resting: Flags, floor: float, rate_hz: float) -> float:
    """Level at which a trace rests between its holds, or 0 if it cannot be told.

    The resting level nearest to zero is taken if the trace stays within half a floor of it for 0.5 s at a stretch, and
    if the force departs from it by more than it lies off zero: in a hold that was cut out of its trace it does not.
    """
    if not resting.any():
        return 0.0
    levels = smooth[resting]
    nearest = levels[np.argmin(np.abs(levels))]
    long_enough = only_runs(np.abs(smooth - nearest) <= floor / 2, SHORTEST_REST_S * rate_hz)
    if not long_enough.any():
        return 0.0
    level = float(np.median(smooth[long_enough]))
    return level if float(np.abs(smooth - level).max()) > abs(level) else 0.0
