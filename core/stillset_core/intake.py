"""Document → record: the single crossing from outside units and spellings to SI."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stillset_core.document import SetDocument
from stillset_core.members import InstrumentMembers, PainMembers, PositionMembers, RepMembers, SideMembers
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    PainWhen,
    Position,
    Purpose,
    Rep,
    SetRecord,
    SideForce,
    TraceFindings,
)
from stillset_core.rfc3339 import parse_full_date
from stillset_core.trace import SampledForce, reps_in_trace
from stillset_core.units import UNITS, Unit

__all__ = ["sampled_force", "to_record"]

_DIRECTIONS: Final = {word.value: word for word in Direction}
_PURPOSES: Final = {word.value: word for word in Purpose}
_KINDS: Final = {word.value: word for word in InstrumentKind}
_WHENS: Final = {word.value: word for word in PainWhen}


def to_record(document: SetDocument, *, athlete_ref: str) -> SetRecord:
    """Bring a document to SI units, with every default and intent resolved.

    Parameters
    ----------
    document : SetDocument
    athlete_ref : str
        The athlete's ref, whatever the document called them.

    Returns
    -------
    SetRecord
        Forces in N, torques in N·m, pressures in Pa. Reps of a trace are those found in it, with the set's intent.
    """
    members = document.members
    unit = UNITS[members["unit"]]
    intended = members.get("intended_percent")
    reps: tuple[Rep, ...]
    findings: TraceFindings | None = None
    trace = sampled_force(document)
    if trace is not None:
        reps, findings = reps_in_trace(trace, intended)
    else:
        factor = unit.to_si
        reps = tuple([_rep(rep, factor, intended) for rep in members.get("reps") or ()])
    return SetRecord(
        members["client_ref"],
        athlete_ref,
        document.performed_at,
        _position(members["position"]),
        _instrument(members["instrument"]),
        unit.quantity,
        reps,
        members.get("session_ref"),
        _PURPOSES[members.get("purpose") or "training"],
        members.get("rpe"),
        findings,
        _pain(members.get("pain")),
        members.get("body_mass_kg"),
        members.get("note"),
    )


def sampled_force(document: SetDocument) -> SampledForce | None:
    """Give the trace of a document in SI, lost samples as NaN; None for a set that was sent as reps."""
    trace = document.members.get("trace")
    if trace is None:
        return None
    unit = UNITS[document.members["unit"]]
    return SampledForce(
        trace["rate_hz"], _samples(trace.get("left"), unit), _samples(trace.get("right"), unit), unit.quantity
    )


def _samples(side: Sequence[float | None] | None, unit: Unit) -> NDArray[np.float64] | None:
    return None if side is None else np.array(side, dtype=np.float64) * unit.to_si


def _rep(rep: RepMembers, factor: float, set_intent: float | None) -> Rep:
    own_intent = rep.get("intended_percent")
    return Rep(
        _DIRECTIONS[rep["direction"]],
        rep["hold_s"],
        _side(rep.get("left"), factor),
        _side(rep.get("right"), factor),
        rep.get("started_s"),
        set_intent if own_intent is None else own_intent,
    )


def _side(side: SideMembers | None, factor: float) -> SideForce | None:
    if side is None:
        return None
    mean = side.get("mean")
    return SideForce(side["peak"] * factor, None if mean is None else mean * factor)


def _position(position: PositionMembers) -> Position:
    return Position(
        position["name"],
        position.get("knee_angle_deg"),
        position.get("hip_angle_deg"),
        position.get("bar_height"),
        position.get("foot_mark"),
        position.get("arms"),
    )


def _instrument(instrument: InstrumentMembers) -> Instrument:
    checked_on = instrument.get("checked_on")
    return Instrument(
        _KINDS[instrument["kind"]],
        instrument.get("serial"),
        instrument.get("zeroed"),
        None if checked_on is None else parse_full_date(checked_on),
    )


def _pain(pain: PainMembers | None) -> Pain | None:
    if pain is None:
        return None
    return Pain(pain.get("score"), pain.get("present"), pain.get("site"), _WHENS[pain.get("when") or "during"])
