"""What makes the measures of a rep doubtful: named findings beside them, which change no standing."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from stillset_core.records import Side
from stillset_core.trace.channels import LONGEST_LOSS_S
from stillset_core.trace.clipping import SHORTEST_CLIPPING_S
from stillset_core.trace.efforts import Efforts
from stillset_core.trace.onset import BASE_S, DEVIATIONS, ONSET_FLOOR
from stillset_core.trace.runs import Flags, Floats
from stillset_core.trace.segments import NOWHERE, segments_of
from stillset_core.trace.stretches import FLOOR, SMOOTHING_S

__all__ = ["Finding", "FindingName", "findings_of", "has_quiet_start"]

SPIKE_SHARE: Final = 0.1
SPIKE_DIFFERENCES: Final = 8.0
"""Medians of the differences over 0.1 s. In a minute of normal noise at 5 kHz the most was 6.3. No source."""


class FindingName(StrEnum):
    """Name of a finding."""

    CLIPPING = "clipping"
    GAP = "gap"
    SPIKE = "spike"
    ZERO_DRIFT = "zero-drift"
    COUNTER_MOVEMENT = "counter-movement"
    MISSING_RELEASE = "missing-release"
    NO_REST_BEFORE = "no-rest-before"
    NOISY_BASE = "noisy-base"


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding on one side of a rep.

    Attributes
    ----------
    finding : FindingName
    side : Side
    seen, limit : float
        What was seen and where the finding begins, in seconds or in the SI unit of the set, as ``text`` says.
    text : str
        One sentence.
    """

    finding: FindingName
    side: Side
    seen: float
    limit: float
    text: str


Check = Callable[[Efforts], tuple[Flags, Floats, Floats]]
"""Where it is found, what is seen, and the limit, each (K,)."""


def findings_of(efforts: Efforts, side: Side) -> tuple[tuple[Finding, ...], ...]:
    """List the findings of one side, for each of its K reps, in the order of ``FindingName``."""
    found: list[list[Finding]] = [[] for _ in efforts.rep]
    for name, (check, sentence) in _CHECKS.items():
        flags, seen, limit = check(efforts)
        for place in np.flatnonzero(flags):
            numbers = {"seen": float(seen[place]), "limit": float(limit[place])}
            text = sentence.format(unit=efforts.quantity.value.replace(".", "·"), **numbers)
            found[place].append(Finding(name, side, text=text, **numbers))
    return tuple([tuple(its_own) for its_own in found])


def has_quiet_start(efforts: Efforts) -> Flags:
    """Tell from which reps (K,) the start can be measured: from rest at zero, without noise or counter-movement."""
    starts = efforts.starts
    at_zero = np.abs(starts.base) <= ONSET_FLOOR[efforts.quantity]
    found: Flags = (starts.at != NOWHERE) & at_zero & (starts.dip == 0) & ~_noisy_base(efforts)[0]
    return found


def _clipping(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    return efforts.is_clipped, efforts.stuck_s, _everywhere(efforts, SHORTEST_CLIPPING_S)


def _gap(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    return efforts.has_gap, efforts.lost_s, _everywhere(efforts, LONGEST_LOSS_S)


def _spike(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    """Look for what differs alike from the force 0.1 s before and 0.1 s after: whole periods of hum cancel in that."""
    force, within = efforts.signal.force, segments_of(efforts.whole)
    reach = max(round(SMOOTHING_S * efforts.signal.rate_hz), 1)
    before = force[within.places] - force[np.maximum(within.places - reach, 0)]
    after = force[within.places] - force[np.minimum(within.places + reach, force.size - 1)]
    alike = np.sign(before) == np.sign(after)
    seen = within.highest(np.where(alike, np.minimum(np.abs(before), np.abs(after)), 0.0))
    usual = float(np.median(np.abs(before))) if before.size else 0.0
    least = np.maximum(SPIKE_SHARE * within.highest(force[within.places]), FLOOR[efforts.quantity] / 2)
    limit = np.maximum(least, SPIKE_DIFFERENCES * usual)
    return seen > limit, seen, limit


def _zero_drift(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    """Look at the rest on both sides of the rep; tension before the onset cannot be told from a zero that moved."""
    before, after = np.nan_to_num(efforts.starts.base), np.nan_to_num(efforts.ends.base)
    seen = np.where(np.abs(before) >= np.abs(after), before, after)
    limit = ONSET_FLOOR[efforts.quantity]
    return np.abs(seen) > limit, seen, _everywhere(efforts, limit)


def _counter_movement(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    starts = efforts.starts
    return starts.dip > 0, starts.dip, np.maximum(DEVIATIONS * starts.noise, ONSET_FLOOR[efforts.quantity])


def _missing_release(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    floor = FLOOR[efforts.quantity]
    between = segments_of(np.column_stack((np.maximum(efforts.earlier - 1, 0), efforts.stretches[:, 0] + 1)))
    lowest = -between.highest(-np.abs(efforts.signal.force[between.places]))
    return (efforts.earlier > 0) & np.isnan(efforts.starts.base), lowest, _everywhere(efforts, floor)


def _no_rest_before(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    missing = (efforts.earlier == 0) & np.isnan(efforts.starts.base)
    return missing, _everywhere(efforts, 0.0), _everywhere(efforts, BASE_S)


def _noisy_base(efforts: Efforts) -> tuple[Flags, Floats, Floats]:
    spread, floor = DEVIATIONS * efforts.starts.noise, FLOOR[efforts.quantity]
    return spread > floor, spread, _everywhere(efforts, floor)


def _everywhere(efforts: Efforts, limit: float) -> Floats:
    return np.full(len(efforts.rep), limit)


_CHECKS: Final[Mapping[FindingName, tuple[Check, str]]] = {
    FindingName.CLIPPING: (_clipping, "The trace stays at its extreme for {seen:.2f} s."),
    FindingName.GAP: (_gap, "{seen:.2f} s of the trace are missing within the rep."),
    FindingName.SPIKE: (_spike, "For less than 0.1 s the force stands {seen:.1f} {unit} out of what lies around it."),
    FindingName.ZERO_DRIFT: (_zero_drift, "At rest beside the rep the side is {seen:.1f} {unit} off its zero."),
    FindingName.COUNTER_MOVEMENT: (_counter_movement, "Before the onset the side dips by {seen:.1f} {unit}."),
    FindingName.MISSING_RELEASE: (_missing_release, "The side does not rest below {limit:g} {unit} between reps."),
    FindingName.NO_REST_BEFORE: (_no_rest_before, "The trace holds no {limit:g} s of rest before the rep."),
    FindingName.NOISY_BASE: (_noisy_base, "Five standard deviations of the rest before the rep are {seen:.1f} {unit}."),
}  # fmt: skip
