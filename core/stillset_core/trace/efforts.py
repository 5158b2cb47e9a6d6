"""The reps of one side and direction with what came before and after them: what measures and findings are made of."""

from dataclasses import dataclass

import numpy as np

from stillset_core.records import Direction, Quantity
from stillset_core.trace.channels import LONGEST_LOSS_S, SIGNS, Channel
from stillset_core.trace.offset import rests
from stillset_core.trace.onset import ONSET_FLOOR, Onsets, Signal, onsets
from stillset_core.trace.runs import ROUNDING, Flags, Floats, Runs
from stillset_core.trace.segments import NOWHERE, Places, segments_of
from stillset_core.trace.stretches import FLOOR

__all__ = ["Efforts", "efforts_of"]


@dataclass(frozen=True, slots=True)
class Efforts:
    """The part of one side in K reps of one direction.

    Attributes
    ----------
    rep : array (K,)
        Which of the reps asked for each is; a side takes no part in a rep in which it stays below its threshold.
    spans : array (K, 2)
        Start and stop of the rep, of both sides together.
    stretches : array (K, 2)
        From the first to the last sample of the side above its threshold.
    whole : array (K, 2)
        From the onset to the release; where there is no rest beside the rep, the end of the stretch stands in.
    starts, ends : Onsets
        The onset; and the release, by the same rule, back to front.
    earlier : array (K,)
        Stop of the stretch before, of either direction; 0 without one.
    lost_s, stuck_s : array (K,)
        Seconds lost without a bridge and seconds of clipping in the rep.
    """

    signal: Signal
    quantity: Quantity
    rep: Places
    spans: Runs
    stretches: Runs
    whole: Runs
    starts: Onsets
    ends: Onsets
    earlier: Places
    lost_s: Floats
    stuck_s: Floats

    @property
    def has_gap(self) -> Flags:
        """Tell where more was lost than can be bridged."""
        found: Flags = self.lost_s > LONGEST_LOSS_S + ROUNDING
        return found

    @property
    def is_clipped(self) -> Flags:
        """Tell where the instrument came to its limit."""
        found: Flags = self.stuck_s > 0
        return found


def efforts_of(channel: Channel, direction: Direction, spans: Runs, rate_hz: float, quantity: Quantity) -> Efforts:
    """Find the part of one side in reps of one direction.

    Parameters
    ----------
    channel : Channel
        The side.
    direction : Direction
    spans : array (K, 2)
        Start and stop of each rep, in order.
    rate_hz : float
    quantity : Quantity
    """
    own = channel.stretches[direction]
    first = np.searchsorted(own[:, 1], spans[:, 0], side="right")
    last = np.searchsorted(own[:, 0], spans[:, 1], side="left") - 1
    rep = np.flatnonzero(first <= last)
    spans, stretches = spans[rep], np.column_stack((own[first[rep], 0], own[last[rep], 1]))
    everything = np.concatenate(list(channel.stretches.values()))
    size = channel.force.size
    earlier = _nearest_before(everything[:, 1], stretches[:, 0])
    later = size - _nearest_before(size - everything[:, 0], size - stretches[:, 1])
    floor = FLOOR[quantity]
    # A side that waits halfway up, as on a slow ramp, does not rest.
    resting = rests(channel.smooth, floor, rate_hz) & (np.abs(channel.smooth) <= floor)
    signal = Signal(SIGNS[direction] * channel.force, resting, rate_hz)
    starts = onsets(signal, stretches, earlier, ONSET_FLOOR[quantity])
    ends = onsets(signal.turned(), size - stretches[:, ::-1], size - later, ONSET_FLOOR[quantity])
    within = segments_of(spans)
    return Efforts(
        signal,
        quantity,
        rep,
        spans,
        stretches,
        _whole(stretches, starts.at, np.where(ends.at == NOWHERE, NOWHERE, size - ends.at)),
        starts,
        ends,
        earlier,
        within.count(channel.lost[within.places]) / rate_hz,
        within.count(channel.stuck[within.places]) / rate_hz,
    )


def _nearest_before(stops: Places, begins: Places) -> Places:
    """Give for each begin the latest stop that is not after it, or 0."""
    ordered = np.concatenate(([0], np.sort(stops)))
    return ordered[np.searchsorted(ordered, begins, side="right") - 1]


def _whole(stretches: Runs, onset: Places, release: Places) -> Runs:
    begin = np.where(onset == NOWHERE, stretches[:, 0], onset)
    end = np.where(release == NOWHERE, stretches[:, 1], release)
    fits = (end > begin)[:, np.newaxis]
    return np.where(fits, np.column_stack((begin, end)), stretches)
