"""The record of changes: who, when, what. Every change that a key makes leaves one row."""

from collections.abc import Sequence
from dataclasses import dataclass

import orjson
from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.ids import new_id
from stillset_service.store.engine import fetch, run

__all__ = ["AuditEntry", "listed", "note", "of_athlete"]


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """One change; ``detail`` is JSON text."""

    id: str
    at_us: int
    key_id: str | None
    action: str
    athlete_id: str | None
    detail: str


def note(
    connection: Connection,
    who: tuple[str, str | None],
    action: str,
    detail: dict[str, object],
    athlete_id: str | None = None,
) -> None:
    """Write down a change by a (club id, key id); a detail that tells about a person must name the athlete."""
    club_id, key_id = who
    run(
        connection,
        "INSERT INTO audit (id, club_id, at_us, key_id, action, athlete_id, detail) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            new_id(),
            club_id,
            clock.microseconds(clock.now()),
            key_id,
            action,
            athlete_id,
            orjson.dumps(detail).decode(),
        ),
    )


def listed(connection: Connection, club_id: str) -> Sequence[AuditEntry]:
    """List the changes of a club, oldest first."""
    sql = "SELECT id, at_us, key_id, action, athlete_id, detail FROM audit WHERE club_id = ? ORDER BY id"
    return [AuditEntry(*row) for row in fetch(connection, sql, (club_id,))]


def of_athlete(connection: Connection, club_id: str, athlete_id: str) -> Sequence[AuditEntry]:
    """List the changes that tell about an athlete, oldest first."""
    sql = """SELECT id, at_us, key_id, action, athlete_id, detail FROM audit
     WHERE club_id = ? AND athlete_id = ? ORDER BY id"""
    return [AuditEntry(*row) for row in fetch(connection, sql, (club_id, athlete_id))]
