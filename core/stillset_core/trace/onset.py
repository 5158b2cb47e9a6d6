"""Where a rep leaves rest, by a stated rule; turned round in time, where it comes back to it.

1. The base is the last 0.2 s before the rep in which the side rests (the force hardly changes, as ``offset.py`` has
   it, and is below the floor of a rep), after whatever rep came before.
2. The force leaves it where it is above the mean of the base by more than five of its standard deviations, or by more
   than a fixed floor, whichever is higher, and stays so for 50 ms.
3. From there it is walked back to the last sample no more than one standard deviation above the mean of the base:
   that is the onset. (Walked back to the mean itself, it would by chance be several samples early now and then: in
   simulations the worst of 60 rates of force development at 1000 Hz was 7 % off in place of 3 %.)

A fixed share of the peak in place of the floor would set slow starters back (common practice; five deviations, 5 N,
50 ms and 0.2 s lie within the ranges in use, no one source).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillset_core.records import Quantity
from stillset_core.trace.runs import ROUNDING, Flags, Floats, Runs
from stillset_core.trace.segments import NOWHERE, Places, segments_of
from stillset_core.trace.stretches import FLOOR

__all__ = ["DEVIATIONS", "ONSET_FLOOR", "Onsets", "Signal", "onsets"]

BASE_S: Final = 0.2
HELD_S: Final = 0.05
EVEN: Final = 1e-6
"""Share of the floor by which the mean of equal samples may differ from them by rounding."""
DEVIATIONS: Final = 5.0
ONSET_FLOOR: Final[Mapping[Quantity, float]] = {quantity: floor / 4 for quantity, floor in FLOOR.items()}
"""5 N, and as much for torque and pressure as their floors of a rep are to that of force."""


@dataclass(frozen=True, slots=True)
class Signal:
    """Force of one side in one direction, as samples (T,), and where it rests."""

    force: Floats
    resting: Flags
    rate_hz: float

    def turned(self) -> "Signal":
        """Give it back to front in time."""
        return Signal(self.force[::-1], self.resting[::-1], self.rate_hz)


@dataclass(frozen=True, slots=True)
class Onsets:
    """Onset of each of K reps.

    Attributes
    ----------
    at : array (K,)
        Sample of the onset, ``NOWHERE`` if there is no base before the rep.
    left_at : array (K,)
        Sample at which the force is first above the threshold to stay, ``NOWHERE`` likewise.
    base, noise : array (K,)
        Mean and standard deviation of the base; NaN where there is none.
    dip : array (K,)
        Depth below the base to which the force goes for 50 ms before it leaves it; 0 if it does not pass the threshold
        the other way round.
    """

    at: Places
    left_at: Places
    base: Floats
    noise: Floats
    dip: Floats


def onsets(signal: Signal, reps: Runs, earliest: Places, floor: float) -> Onsets:
    """Find where reps begin.

    Parameters
    ----------
    signal : Signal
    reps : array (K, 2)
        Start and stop of the stretch of each rep.
    earliest : array (K,)
        Sample before which no base is sought: where the rep before stops, or 0.
    floor : float
        Least threshold above the base.
    """
    begins, known = _bases(signal, reps, earliest)
    found = Onsets(*(np.full(len(reps), NOWHERE) for _ in range(2)), *(np.full(len(reps), np.nan) for _ in range(3)))
    if not known.any():
        return found
    length = _samples(BASE_S, signal.rate_hz)
    rest = segments_of(np.column_stack((begins, begins + length))[known])
    base = rest.mean(signal.force[rest.places])
    noise = rest.deviation(signal.force[rest.places])
    way = segments_of(np.column_stack((begins, reps[:, 1]))[known])
    above = signal.force[way.places] - way.spread(base)
    threshold = way.spread(np.maximum(DEVIATIONS * noise, floor))
    held = _samples(HELD_S, signal.rate_hz)
    left_at = way.first(_stays(above > threshold, held))
    before = way.places <= way.spread(left_at.astype(np.float64))
    found.left_at[known] = left_at
    at_base = above <= way.spread(noise) + EVEN * floor
    found.at[known] = np.where(left_at == NOWHERE, NOWHERE, way.last(before & at_base))
    found.base[known], found.noise[known] = base, noise
    sunk = _stays(before & (above < -threshold), held)
    # Where the force stays below for 50 ms from a sample on, that sample is deep enough to speak for all of them.
    found.dip[known] = way.highest(np.where(sunk, -above, 0.0))
    return found


def _bases(signal: Signal, reps: Runs, earliest: Places) -> tuple[Places, Flags]:
    """Give where the base before each rep begins, and whether there is one."""
    length = _samples(BASE_S, signal.rate_hz)
    begins = np.arange(signal.force.size)
    last_begin = np.maximum.accumulate(np.where(_stays(signal.resting, length), begins, NOWHERE))
    latest = reps[:, 0] - length
    found = np.where(latest < 0, NOWHERE, last_begin[np.maximum(latest, 0)])
    return found, (found != NOWHERE) & (found >= earliest)


def _stays(flags: Flags, length: int) -> Flags:
    """Tell where a run of so many flags begins."""
    total = np.concatenate(([0], np.cumsum(flags)))
    stays = np.zeros(flags.size, dtype=bool)
    if flags.size >= length:
        stays[: flags.size - length + 1] = total[length:] - total[:-length] == length
    return stays


def _samples(seconds: float, rate_hz: float) -> int:
    return max(math.ceil(seconds * rate_hz - ROUNDING), 1)
