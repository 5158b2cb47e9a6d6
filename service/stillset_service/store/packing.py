"""How documents and records lie in the store: documents verbatim, compressed where that pays; records as JSON.

A packed record is the set in SI as ``intake`` made it, so that opening a book needs no
validation and no search for reps in a trace. It can be made again from the document.
"""

import zlib
from datetime import date, datetime
from typing import Any

import orjson

from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    PainWhen,
    Position,
    Purpose,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    TraceFindings,
)

__all__ = ["pack_document", "pack_record", "unpack_document", "unpack_record"]

COMPRESSED_FROM = 4096
"""Documents of this many bytes and more (in practice those with a trace) are compressed."""
_ZLIB_FIRST_BYTE = 0x78
"""First byte of a zlib stream with the usual window (RFC 1950); no JSON text begins with it."""


def pack_document(document: bytes) -> bytes:
    """Prepare a document for the store."""
    return zlib.compress(document, 1) if len(document) >= COMPRESSED_FROM else document


def unpack_document(packed: bytes) -> bytes:
    """Give a document back as it was sent."""
    return zlib.decompress(packed) if packed[:1] == bytes((_ZLIB_FIRST_BYTE,)) else bytes(packed)


def pack_record(record: SetRecord) -> bytes:
    """Write a record as a JSON list in the order of its fields."""
    return orjson.dumps(
        (
            record.client_ref,
            record.athlete,
            record.performed_at,
            _position(record.position),
            _instrument(record.instrument),
            record.quantity,
            [
                (
                    r.direction,
                    r.hold_s,
                    _force(r.left),
                    _force(r.right),
                    r.started_s,
                    r.intended_percent,
                    r.clipped,
                    r.gap,
                )
                for r in record.reps
            ],
            record.session_ref,
            record.purpose,
            record.rpe,
            None if record.trace is None else (record.trace.offset_left, record.trace.offset_right),
            None if record.pain is None else _pain(record.pain),
            record.body_mass_kg,
            record.note,
        )
    )


def unpack_record(packed: bytes) -> SetRecord:
    """Read a record back, equal to what was packed."""
    ref, athlete, at, position, instrument, quantity, reps, session, purpose, rpe, trace, pain, mass, note = (
        orjson.loads(packed)
    )
    return SetRecord(
        ref,
        athlete,
        datetime.fromisoformat(at),
        Position(*position),
        Instrument(
            InstrumentKind(instrument[0]),
            instrument[1],
            instrument[2],
            None if instrument[3] is None else date.fromisoformat(instrument[3]),
        ),
        Quantity(quantity),
        tuple([_rep(*rep) for rep in reps]),
        session,
        Purpose(purpose),
        rpe,
        None if trace is None else TraceFindings(*trace),
        None if pain is None else Pain(pain[0], pain[1], pain[2], PainWhen(pain[3])),
        mass,
        note,
    )


def _position(p: Position) -> tuple[object, ...]:
    return (p.name, p.knee_angle_deg, p.hip_angle_deg, p.bar_height, p.foot_mark, p.arms)


def _instrument(i: Instrument) -> tuple[object, ...]:
    return (i.kind, i.serial, i.zeroed, i.checked_on)


def _pain(p: Pain) -> tuple[object, ...]:
    return (p.score, p.present, p.site, p.when)


def _force(force: SideForce | None) -> tuple[float, float | None] | None:
    return None if force is None else (force.peak, force.mean)


Force = tuple[float, float | None] | None


def _rep(direction: str, hold_s: float, left: Force, right: Force, *rest: Any) -> Rep:  # noqa: ANN401 (the rest of a row)
    return Rep(
        Direction(direction),
        hold_s,
        None if left is None else SideForce(*left),
        None if right is None else SideForce(*right),
        *rest,
    )
