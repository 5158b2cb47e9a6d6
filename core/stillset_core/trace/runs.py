"""Runs of samples for which something holds."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["ROUNDING", "Flags", "Floats", "Runs", "only_runs", "runs"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Runs = NDArray[np.intp]
"""Start and stop of each run, array (K, 2)."""
ROUNDING: Final = 1e-9
"""Seconds times rate are compared with whole samples up to this."""


def runs(flags: Flags) -> Runs:
    """Start and stop of each run of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return edges.reshape(-1, 2)


def only_runs(flags: Flags, shortest: float) -> Flags:
    """Keep the flags, without runs of fewer than ``shortest`` samples."""
    kept = np.zeros_like(flags)
    found = runs(flags)
    for begin, end in found[found[:, 1] - found[:, 0] >= shortest]:
        kept[begin:end] = True
    return kept
