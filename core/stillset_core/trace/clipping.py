"""Where an instrument came to its limit: samples that stand still at an extreme of the trace."""

from typing import Final

import numpy as np

from stillset_core.trace.runs import ROUNDING, Flags, Floats, only_runs

__all__ = ["clipping"]

SHORTEST_CLIPPING_S: Final = 0.25


def clipping(samples: Floats, rate_hz: float) -> Flags:
    """Mark samples that stand still at an extreme of the trace for at least 0.25 s, where it otherwise varies."""
    clipped = np.zeros(samples.size, dtype=bool)
    for extreme in (np.nanmax(samples), np.nanmin(samples)):
        stuck = only_runs(samples == extreme, SHORTEST_CLIPPING_S * rate_hz - ROUNDING)
        if stuck.any() and _varies(samples[~stuck]):
            clipped |= stuck
    return clipped


def _varies(samples: Floats) -> bool:
    """Whether a signal moves as measured ones do: most of its steps are none of zero, or it goes up and down.

    Where a trace mostly stands still away from its extremes too, it is free of noise, and equal samples prove nothing.
    """
    steps = np.diff(samples[~np.isnan(samples)])
    moves = steps[steps != 0]
    if 2 * moves.size > steps.size:
        return True
    turns = int(np.count_nonzero(np.diff(np.sign(moves))))
    return bool(moves.size) and 10 * turns > moves.size
