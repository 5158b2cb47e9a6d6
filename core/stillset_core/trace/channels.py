"""Each recorded side of a trace without its offset, with its stretches of force."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillset_core.records import Direction, Quantity
from stillset_core.trace.clipping import clipping
from stillset_core.trace.offset import zero_offset
from stillset_core.trace.runs import ROUNDING, Flags, Floats, Runs, only_runs
from stillset_core.trace.stretches import FLOOR, moving_mean, stretches

__all__ = ["LONGEST_LOSS_S", "SIGNS", "Channel", "SampledForce", "channels_of", "spans_of"]

LONGEST_LOSS_S: Final = 0.2
_BEYOND_ALL_FORCE: Final = 1e100
"""Larger samples are taken as this, so that their sums stay finite; both are out of range a long way."""


@dataclass(frozen=True, slots=True)
class SampledForce:
    """A trace in SI: samples of each recorded side, squeeze positive, NaN for a lost sample."""

    rate_hz: float
    left: Floats | None
    right: Floats | None
    quantity: Quantity


@dataclass(frozen=True, slots=True)
class Channel:
    """One side after its offset is off.

    Attributes
    ----------
    force : array (T,)
        Bridged, without the offset.
    smooth : array (T,)
        Its moving mean over 0.1 s.
    lost : array (T,) of bool
        Samples of losses too long to bridge.
    stuck : array (T,) of bool
        Samples of clipping.
    stretches : mapping
        For each direction the (start, stop) pairs, array (K, 2).
    """

    force: Floats
    smooth: Floats
    lost: Flags
    stuck: Flags
    offset: float
    stretches: Mapping[Direction, Runs]


SIGNS: Final = {Direction.SQUEEZE: 1.0, Direction.SPREAD: -1.0}


def channels_of(trace: SampledForce) -> tuple[Channel | None, Channel | None]:
    """Give left and right without their offsets; None for a side that was not recorded or lost every sample."""
    return _channel(trace.left, trace), _channel(trace.right, trace)


def spans_of(sides: Sequence[Channel | None], direction: Direction) -> Iterator[slice]:
    """Give the span of each rep of a direction: overlapping stretches of the sides, made one, in order."""
    spans = sorted((int(begin), int(end)) for side in sides if side for begin, end in side.stretches[direction])
    if not spans:
        return
    begin, end = spans[0]
    for next_begin, next_end in spans[1:]:
        if next_begin < end:
            end = max(end, next_end)
        else:
            yield slice(begin, end)
            begin, end = next_begin, next_end
    yield slice(begin, end)


def _channel(samples: Floats | None, trace: SampledForce) -> Channel | None:
    if samples is None or np.isnan(samples).all():
        return None
    samples = np.clip(samples, -_BEYOND_ALL_FORCE, _BEYOND_ALL_FORCE)
    lost = np.isnan(samples)
    floor, rate_hz = FLOOR[trace.quantity], trace.rate_hz
    places = np.arange(samples.size)
    bridged = np.interp(places, places[~lost], samples[~lost]) if lost.any() else samples
    smooth = moving_mean(bridged, rate_hz)
    offset = zero_offset(bridged, smooth, floor, rate_hz)
    force, smooth = bridged - offset, smooth - offset
    found = {direction: stretches(sign * force, sign * smooth, floor, rate_hz) for direction, sign in SIGNS.items()}
    long_losses = only_runs(lost, LONGEST_LOSS_S * rate_hz + ROUNDING)
    return Channel(force, smooth, long_losses, clipping(samples - offset, floor, rate_hz), offset, found)
