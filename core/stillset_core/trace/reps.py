"""Sampled force → reps: the trace rules of the API contract.

How it is done, side by side and then together:

1. Lost samples are bridged linearly. A loss of more than 0.2 s makes the rep that it falls into a rep with a gap.
2. Stretches are sought on a moving mean over 0.1 s, which holds whole periods of mains hum at 50 and at 60 Hz, so
   that neither hum on a threshold nor a glitch cuts a hold; peaks and means are taken from the samples themselves.
3. A stretch lies above max(floor, 20 % of its peak), squeeze above and spread below the offset. Dips below the
   threshold of less than 0.2 s do not end it, and a stretch of less than 0.2 s is a twitch and no rep (the contract
   does not speak of either; a hold lasts seconds, so nothing that was meant as one is lost).
4. The offset is the median of the samples outside reps. The two define one another: from a first guess (the resting
   level nearest to zero), stretches and median are found in turn until they stand still. Only samples at rest have a
   say, lest slow ramps below the threshold pull the median up; in a trace that never rests, the lowest samples outside
   reps stand in for it. Where no sample lies outside reps, the offset is taken as 0.
5. Stretches of the same direction that overlap on the two sides are one rep. ``hold_s`` is the time above 80 % of the
   peak, of the longer side; the mean of each side is taken over its own time above 80 % of its own peak. A side that
   never rises above its threshold during a rep did not take part in it.

The floor of 20 N is for forces. For torques and pressures it is scaled like the contract's physical limits
(5,000 N : 1,500 N·m : 200,000 Pa).
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from stillset_core.records import Direction, Rep, SideForce, TraceFindings
from stillset_core.trace.channels import LONGEST_LOSS_S, SIGNS, Channel, SampledForce, channels_of, spans_of
from stillset_core.trace.runs import ROUNDING

__all__ = ["HOLD_SHARE", "found_reps", "reps_in_trace"]

HOLD_SHARE: Final = 0.8


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
    left, right = sides = channels_of(trace)
    reps = tuple([rep for _, rep in found_reps(sides, trace.rate_hz, intended_percent)])
    return reps, TraceFindings(None if left is None else left.offset, None if right is None else right.offset)


def found_reps(
    sides: Sequence[Channel | None], rate_hz: float, intended_percent: float | None = None
) -> list[tuple[slice, Rep]]:
    """Find the reps of the sides of a trace, each with its span in samples, in order of their start."""
    found = [
        (span, _rep(sides, direction, span, rate_hz, intended_percent))
        for direction in Direction
        for span in spans_of(sides, direction)
    ]
    return sorted(found, key=lambda one: one[0].start)


def _rep(
    sides: Sequence[Channel | None],
    direction: Direction,
    span: slice,
    rate_hz: float,
    intended_percent: float | None,
) -> Rep:
    held = [None if side is None else _held(side, direction, span) for side in sides]
    recorded = [side for side in sides if side is not None]
    longest_loss = LONGEST_LOSS_S * rate_hz + ROUNDING
    left, right = (None if force is None else force[0] for force in held)
    return Rep(
        direction,
        max(force[1] for force in held if force is not None) / rate_hz,
        left,
        right,
        span.start / rate_hz,
        intended_percent,
        clipped=any(bool(side.stuck[span].any()) for side in recorded),
        gap=any(int(side.lost[span].sum()) > longest_loss for side in recorded),
    )


def _held(side: Channel, direction: Direction, span: slice) -> tuple[SideForce, int] | None:
    """Peak and mean of one side in a rep and its samples above 80 % of the peak; None if it took no part."""
    own = side.stretches[direction]
    if not np.any((own[:, 0] < span.stop) & (own[:, 1] > span.start)):
        return None
    force = SIGNS[direction] * side.force[span]
    peak = float(force.max())
    high = force[force > HOLD_SHARE * peak]
    return SideForce(peak, min(float(high.mean()), peak)), high.size
