"""Sampled force → reps: the trace rules of the API contract.

How it is done, side by side and then together:

1. Lost samples are bridged linearly. A loss of more than 0.2 s makes the rep that it falls into a rep with a gap.
2. Stretches are sought on a moving mean over 0.1 s, which holds whole periods of mains hum at 50 and at 60 Hz, so
   that neither hum on a threshold nor a glitch cuts a hold; peaks and means are taken from the samples themselves.
3. A stretch lies above max(floor, 20 % of its peak), squeeze above and spread below the offset. Dips below the
   threshold of less than 0.2 s do not end it, and a stretch of less than 0.2 s is a twitch and no rep (the contract
   does not speak of either; a hold lasts seconds, so nothing that was meant as one is lost).
4. The offset is the median of the samples outside reps. The two define one another: from offset 0, stretches and
   median are found in turn until they stand still. Only samples at rest have a say, lest slow ramps below the
   threshold pull the median up; in a trace that never rests, the lowest samples outside reps stand in for it. Where no
   sample lies outside reps, the offset is taken as 0, unless the trace rests far off zero (``_resting_level``).
5. Stretches of the same direction that overlap on the two sides are one rep. ``hold_s`` is the time above 80 % of the
   peak, of the longer side; the mean of each side is taken over its own time above 80 % of its own peak. A side that
   never rises above its threshold during a rep did not take part in it.

The floor of 20 N is for forces. For torques and pressures it is scaled like the contract's physical limits
(5,000 N : 1,500 N·m : 200,000 Pa).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stillset_core.records import Direction, Quantity, Rep, SideForce, TraceFindings

__all__ = ["FLOOR", "SampledForce", "reps_in_trace"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

FLOOR: Final[Mapping[Quantity, float]] = {Quantity.FORCE: 20.0, Quantity.TORQUE: 6.0, Quantity.PRESSURE: 800.0}
"""No rep below this, in SI; half of it is where an offset deserves a caution."""
ONSET_SHARE: Final = 0.2
HOLD_SHARE: Final = 0.8
LONGEST_LOSS_S: Final = 0.2
SHORTEST_CLIPPING_S: Final = 0.25
SMOOTHING_S: Final = 0.1
"""Five periods of 50 Hz, six of 60 Hz."""
SHORTEST_DIP_S: Final = 0.2
SHORTEST_STRETCH_S: Final = 0.2
REST_CHANGE: Final = 0.02
REST_SPAN_S: Final = 0.1
"""At rest the smoothed force changes by no more than this share of the highest force (or a twentieth of the floor) from
so long before to so long after. That is 10 % of the highest force in a second; holds are built up faster."""
LOWEST_SHARE: Final = 0.1
SHORTEST_REST_S: Final = 0.5
_ROUNDS: Final = 20
_ROUNDING: Final = 1e-9
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
class _Channel:
    """One side after its offset is off.

    Attributes
    ----------
    force : array (T,)
        Bridged, without the offset.
    lost : array (T,) of bool
        Samples of losses too long to bridge.
    stuck : array (T,) of bool
        Samples of clipping.
    stretches : mapping
        For each direction the (start, stop) pairs, array (K, 2).
    """

    force: Floats
    lost: Flags
    stuck: Flags
    offset: float
    stretches: Mapping[Direction, NDArray[np.intp]]


_SIGNS: Final = {Direction.SQUEEZE: 1.0, Direction.SPREAD: -1.0}


def reps_in_trace(trace: SampledForce, intended_percent: float | None) -> tuple[tuple[Rep, ...], TraceFindings]:
    """Find the reps of a trace.

    Parameters
    ----------
    trace : SampledForce
    intended_percent : float or None
        Intent of every rep found.

    Returns
    -------
    reps : tuple of Rep
        In order of their start, squeeze before spread; forces are positive in both directions.
    findings : TraceFindings
        The offset that was subtracted on each side.
    """
    left = None if trace.left is None else _channel(trace.left, trace)
    right = None if trace.right is None else _channel(trace.right, trace)
    sides = (left, right)
    reps = [
        _rep(sides, direction, span, trace.rate_hz, intended_percent)
        for direction in Direction
        for span in _unions([side.stretches[direction] for side in sides if side is not None])
    ]
    reps.sort(key=lambda rep: rep.started_s or 0.0)
    findings = TraceFindings(None if left is None else left.offset, None if right is None else right.offset)
    return tuple(reps), findings


def _rep(
    sides: Sequence[_Channel | None],
    direction: Direction,
    span: slice,
    rate_hz: float,
    intended_percent: float | None,
) -> Rep:
    held = [None if side is None else _held(side, direction, span) for side in sides]
    taking_part = [side for side, force in zip(sides, held, strict=True) if side is not None and force is not None]
    longest_loss = LONGEST_LOSS_S * rate_hz + _ROUNDING
    left, right = (None if force is None else force[0] for force in held)
    return Rep(
        direction,
        max(force[1] for force in held if force is not None) / rate_hz,
        left,
        right,
        span.start / rate_hz,
        intended_percent,
        clipped=any(bool(side.stuck[span].any()) for side in taking_part),
        gap=any(int(side.lost[span].sum()) > longest_loss for side in taking_part),
    )


def _held(side: _Channel, direction: Direction, span: slice) -> tuple[SideForce, int] | None:
    """Peak and mean of one side in a rep and its samples above 80 % of the peak; None if it took no part."""
    stretches = side.stretches[direction]
    if not np.any((stretches[:, 0] < span.stop) & (stretches[:, 1] > span.start)):
        return None
    force = _SIGNS[direction] * side.force[span]
    peak = float(force.max())
    high = force[force > HOLD_SHARE * peak]
    return SideForce(peak, min(float(high.mean()), peak)), high.size


def _channel(samples: Floats, trace: SampledForce) -> _Channel:
    samples = np.clip(samples, -_BEYOND_ALL_FORCE, _BEYOND_ALL_FORCE)
    lost = np.isnan(samples)
    floor, rate_hz = FLOOR[trace.quantity], trace.rate_hz
    if lost.all():
        nothing = np.empty((0, 2), dtype=np.intp)
        none = np.zeros(samples.size)
        return _Channel(none, lost, np.zeros_like(lost), 0.0, dict.fromkeys(Direction, nothing))
    places = np.arange(samples.size)
    bridged = np.interp(places, places[~lost], samples[~lost]) if lost.any() else samples
    smooth = _moving_mean(bridged, rate_hz)
    offset = _offset(bridged, smooth, floor, rate_hz)
    force = bridged - offset
    stretches = {
        direction: _stretches(sign * force, sign * (smooth - offset), floor, rate_hz)
        for direction, sign in _SIGNS.items()
    }
    long_losses = _only_runs(lost, LONGEST_LOSS_S * rate_hz + _ROUNDING)
    return _Channel(force, long_losses, _clipping(samples, rate_hz), offset, stretches)


def _offset(samples: Floats, smooth: Floats, floor: float, rate_hz: float) -> float:
    """Median of the samples at rest outside reps, in keeping with the reps that it leads to."""
    resting = _resting(smooth, floor, rate_hz)
    offset = 0.0
    for _ in range(_ROUNDS):
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
    for sign in _SIGNS.values():
        for begin, end in _stretches(sign * force, sign * smooth, floor, rate_hz):
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
    resting = _only_runs(np.abs(smooth - nearest) <= floor / 2, SHORTEST_REST_S * rate_hz)
    if not resting.any():
        return None
    level = float(np.median(smooth[resting]))
    return level if float(np.abs(smooth - level).max()) > abs(level) else None


def _stretches(force: Floats, smooth: Floats, floor: float, rate_hz: float) -> NDArray[np.intp]:
    """Start and stop of each stretch of positive force above max(floor, 20 % of its peak), array (K, 2)."""
    rises = [np.empty((0, 2), dtype=np.intp)]
    for begin, end in _runs(smooth > floor):
        threshold = max(floor, ONSET_SHARE * float(smooth[begin:end].max()))
        rises.append(_runs(smooth[begin:end] > threshold) + begin)
    merged = _without_dips(np.concatenate(rises), SHORTEST_DIP_S * rate_hz)
    long_enough = merged[merged[:, 1] - merged[:, 0] >= SHORTEST_STRETCH_S * rate_hz - _ROUNDING]
    return long_enough[[bool((force[begin:end] > floor).any()) for begin, end in long_enough]]


def _without_dips(runs: NDArray[np.intp], shortest: float) -> NDArray[np.intp]:
    if len(runs) < 2:
        return runs
    apart = runs[1:, 0] - runs[:-1, 1] >= shortest
    starts = runs[np.concatenate(([True], apart)), 0]
    stops = runs[np.concatenate((apart, [True])), 1]
    return np.column_stack((starts, stops))


def _unions(both: list[NDArray[np.intp]]) -> Iterator[slice]:
    """Overlapping stretches of the sides, made one."""
    spans = sorted((int(begin), int(end)) for stretches in both for begin, end in stretches)
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


def _clipping(samples: Floats, rate_hz: float) -> Flags:
    """Mark samples that stand still at an extreme of the trace for at least 0.25 s, where it otherwise varies."""
    clipped = np.zeros(samples.size, dtype=bool)
    for extreme in (np.nanmax(samples), np.nanmin(samples)):
        stuck = _only_runs(samples == extreme, SHORTEST_CLIPPING_S * rate_hz - _ROUNDING)
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


def _runs(flags: Flags) -> NDArray[np.intp]:
    """Start and stop of each run of true flags, array (K, 2)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return edges.reshape(-1, 2)


def _only_runs(flags: Flags, shortest: float) -> Flags:
    """Keep the flags, without runs of fewer than ``shortest`` samples."""
    kept = np.zeros_like(flags)
    for begin, end in _runs(flags):
        if end - begin >= shortest:
            kept[begin:end] = True
    return kept


def _moving_mean(samples: Floats, rate_hz: float) -> Floats:
    """Centred mean over 0.1 s, over what there is of it at the ends."""
    half = round(SMOOTHING_S * rate_hz) // 2
    if half == 0:
        return samples
    total = np.concatenate(([0.0], np.cumsum(samples)))
    places = np.arange(samples.size)
    stops = np.minimum(places + half + 1, samples.size)
    starts = np.maximum(places - half, 0)
    mean: Floats = (total[stops] - total[starts]) / (stops - starts)
    return mean
