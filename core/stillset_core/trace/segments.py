"""Sums and extremes over many stretches of a trace at once."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stillset_core.trace.runs import Flags, Floats, Runs

__all__ = ["NOWHERE", "Places", "Segments", "segments_of"]

Places = NDArray[np.intp]
"""Samples by their number, from 0."""
NOWHERE: Final = -1
"""In the place of a sample that there is none of."""


@dataclass(frozen=True, slots=True)
class Segments:
    """The samples of K stretches, one after another.

    Attributes
    ----------
    places : array (N,)
        Samples of all stretches; those of a stretch are in order.
    firsts : array (K,)
        Where each stretch begins in ``places``.
    lengths : array (K,)
        Samples of each, at least one.
    """

    places: Places
    firsts: Places
    lengths: Places

    def spread(self, values: Floats) -> Floats:
        """Repeat the value of each stretch (K,) for each of its samples (N,)."""
        return np.repeat(values, self.lengths)

    def count(self, flags: Flags) -> Places:
        """Count the flags (N,) in each stretch."""
        return np.add.reduceat(flags.astype(np.intp), self.firsts)

    def mean(self, values: Floats) -> Floats:
        """Average the values (N,) of each stretch."""
        return np.add.reduceat(values, self.firsts) / self.lengths

    def highest(self, values: Floats) -> Floats:
        """Give the highest of the values (N,) of each stretch."""
        return np.maximum.reduceat(values, self.firsts)

    def deviation(self, values: Floats) -> Floats:
        """Give the standard deviation (n - 1) of the values (N,) of each stretch; 0 for a single one."""
        squares = (values - self.spread(self.mean(values))) ** 2
        return np.sqrt(np.add.reduceat(squares, self.firsts) / np.maximum(self.lengths - 1, 1))

    def first(self, flags: Flags) -> Places:
        """Give the first sample of each stretch that has its flag (N,) up, or ``NOWHERE``."""
        beyond = np.iinfo(np.intp).max
        found = np.minimum.reduceat(np.where(flags, self.places, beyond), self.firsts)
        return np.where(found == beyond, NOWHERE, found)

    def last(self, flags: Flags) -> Places:
        """Give the last sample of each stretch that has its flag (N,) up, or ``NOWHERE``."""
        return np.maximum.reduceat(np.where(flags, self.places, NOWHERE), self.firsts)


def segments_of(runs: Runs) -> Segments:
    """Line up the samples of stretches (K, 2) of at least one sample each."""
    lengths = runs[:, 1] - runs[:, 0]
    firsts = np.cumsum(lengths) - lengths
    places = np.arange(int(lengths.sum())) + np.repeat(runs[:, 0] - firsts, lengths)
    return Segments(places, firsts, lengths)
