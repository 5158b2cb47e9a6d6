"""Where an instrument came to its limit: samples that stand still at an extreme of the trace."""

from typing import Final

import numpy as np

from stillset_core.trace.runs import ROUNDING, Flags, Floats, only_runs

__all__ = ["clipping"]

SHORTEST_CLIPPING_S: Final = 0.25
HIGH_SHARE: Final = 0.8
LIVELY_SHARE: Final = 1 / 3
"""So much of the standstill's length must move beside it above 80 % of the extreme: ramps of a second take less."""


def clipping(force: Floats, floor: float, rate_hz: float) -> Flags:
    """Mark samples that stand still at an extreme of the trace for at least 0.25 s, where it otherwise varies.

    An extreme within ``floor`` of zero is where the trace rests, as still as an instrument with a dead band shows it.
    """
    shortest = SHORTEST_CLIPPING_S * rate_hz - ROUNDING
    clipped = np.zeros(force.size, dtype=bool)
    for extreme in (np.nanmax(force), np.nanmin(force)):
        stuck = only_runs(force == extreme, shortest)
        if abs(extreme) > floor and stuck.any() and _varies(force, stuck, shortest):
            clipped |= stuck
    return clipped


def _varies(force: Floats, stuck: Flags, long_still: float) -> bool:
    """Whether a signal moves as measured ones do.

    Most of its steps are none of zero, or it moves much near the extreme, as a hold does that was cut off, or it goes
    up and down. Where a trace mostly stands still away from its extremes too, it is free of noise, and equal samples
    prove nothing. Going up after a long standstill is the next hold, and no noise.
    """
    kept = ~np.isnan(force)
    steps = np.diff(force[kept])
    free = ~(stuck[kept][1:] | stuck[kept][:-1])
    moves = np.flatnonzero(free & (steps != 0))
    if 2 * moves.size > np.count_nonzero(free):
        return True
    level = force[stuck][0]
    high = np.count_nonzero(force[kept][1:][moves] / level > HIGH_SHARE)
    if high > LIVELY_SHARE * np.count_nonzero(stuck):
        return True
    signs = np.sign(steps[moves])
    turns = np.count_nonzero((signs[1:] != signs[:-1]) & (np.diff(moves) < long_still))
    return bool(10 * turns > moves.size)
