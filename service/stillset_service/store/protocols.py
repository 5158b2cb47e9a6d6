"""The versions of a club's protocol; a club begins with version 1, the defaults of its day."""

from dataclasses import dataclass

import orjson
from sqlalchemy import Connection

from stillset_core.protocol import Protocol, parse_protocol
from stillset_service import clock
from stillset_service.store.engine import SqlRow, fetch, fetch_one, run

__all__ = ["SavedProtocol", "in_force", "save", "versions"]


@dataclass(frozen=True, slots=True)
class SavedProtocol:
    """A protocol with its version and when it was saved."""

    version: int
    saved_us: int
    protocol: Protocol


def in_force(connection: Connection, club_id: str) -> SavedProtocol:
    """Give the protocol that judges all history of a club."""
    newest = _newest(connection, club_id)
    if newest is None:
        raise LookupError(club_id)
    return newest


def versions(connection: Connection, club_id: str) -> list[SavedProtocol]:
    """List every version of a club, oldest first."""
    sql = "SELECT version, saved_us, settings FROM protocol_version WHERE club_id = ? ORDER BY version"
    return [_saved(row) for row in fetch(connection, sql, (club_id,))]


def save(connection: Connection, club_id: str, protocol: Protocol, key_id: str | None) -> SavedProtocol:
    """Save a protocol as the next version."""
    # Two processes that save at once: the row of the club makes one wait for the other.
    run(connection, "UPDATE club SET slug = slug WHERE id = ?", (club_id,))
    newest = _newest(connection, club_id)
    version = 1 if newest is None else newest.version + 1
    saved = SavedProtocol(version, clock.microseconds(clock.now()), protocol)
    run(
        connection,
        "INSERT INTO protocol_version (club_id, version, settings, saved_us, key_id) VALUES (?, ?, ?, ?, ?)",
        (club_id, saved.version, orjson.dumps(protocol.settings()).decode(), saved.saved_us, key_id),
    )
    return saved


def _saved(row: SqlRow) -> SavedProtocol:
    return SavedProtocol(row[0], row[1], parse_protocol(orjson.loads(row[2])))


def _newest(connection: Connection, club_id: str) -> SavedProtocol | None:
    sql = "SELECT version, saved_us, settings FROM protocol_version WHERE club_id = ? ORDER BY version DESC LIMIT 1"
    row = fetch_one(connection, sql, (club_id,))
    return None if row is None else _saved(row)
