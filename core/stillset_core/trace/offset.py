"""The zero of a trace: the level at which it rests."""

from typing import Final

import numpy as np

from stillset_core.trace.runs import Flags, Floats, only_runs
from stillset_core.trace.stretches import stretches

__all__ = ["zero_offset"]

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
    resting = _resting(smooth, floor, rate_hz)
    offset = 0.0
    for _ in range(_ROUNDS):  # pragma: no branch
        outside = _outside_reps(samples - offset, smooth - offset, floor, rate_hz)
        if not outside.any():
            level = _resting_level(smooth, floor, rate_hz)
            if level is None or level == offset:
                return 0.0
            settled = level
        elif (at_rest := samples[outside & resting]).size:
            settled = float(np.median(at_rest))
        else:
            return _lowest(samples[outside])
        if settled == offset:
            break
        offset = settled
    return offset


def _resting(smooth: Floats, floor: float, rate_hz: float) -> Flags:
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


def _resting_level(smooth: Floats, floor: float, rate_hz: float) -> float | None:
    """Level far off zero at which a trace rests between its holds, or None.

    Asked only where nothing lies outside the reps at offset 0. The level nearest to zero is one of rest if the trace
    stays within half a floor of it for 0.5 s at a stretch and if the trace rises above it by more than it is high
    itself: a hold that was cut out of its trace does not.
    """
    nearest = smooth[np.argmin(np.abs(smooth))]
    resting = only_runs(np.abs(smooth - nearest) <= floor / 2, SHORTEST_REST_S * rate_hz)
    if not resting.any():
        return None
    level = float(np.median(smooth[resting]))
    return level if float(np.abs(smooth - level).max()) > abs(level) else None
