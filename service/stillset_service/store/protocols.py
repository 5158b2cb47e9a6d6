"""The versions of a club's protocol; version 0 is the defaults that a club has before it saved any."""

from dataclasses import dataclass

from sqlalchemy import Connection

from stillset_core.protocol import Protocol
from stillset_service import clock
from stillset_service.store.engine import run

__all__ = ["SavedProtocol", "in_force", "save", "versions"]


@dataclass(frozen=True, slots=True)
class SavedProtocol:
    """A protocol with its version and when it was saved (None for the defaults)."""

    version: int
    saved_us: int | None
    protocol: Protocol


DEFAULTS = SavedProtocol(0, None, Protocol())


def in_force(connection: Connection, club_id: str) -> SavedProtocol:
    """Give the protocol that judges all history of a club."""
    sql = "SELECT version, saved_us, settings FROM protocol_version WHERE club_id = ? ORDER BY version DESC LIMIT 1"
    row = run(connection, sql, (club_id,)).first()
    return DEFAULTS if row is None else SavedProtocol(row[0], row[1], Protocol.model_validate_json(row[2]))


def versions(connection: Connection, club_id: str) -> list[SavedProtocol]:
    """List every version of a club, oldest first."""
    sql = "SELECT version, saved_us, settings FROM protocol_version WHERE club_id = ? ORDER BY version"
    return [
        SavedProtocol(row[0], row[1], Protocol.model_validate_json(row[2])) for row in run(connection, sql, (club_id,))
    ]


def save(connection: Connection, club_id: str, protocol: Protocol, key_id: str | None) -> SavedProtocol:
    """Save a protocol as the next version."""
    # Two processes that save at once: the row of the club makes one wait for the other.
    run(connection, "UPDATE club SET slug = slug WHERE id = ?", (club_id,))
    saved = SavedProtocol(in_force(connection, club_id).version + 1, clock.microseconds(clock.now()), protocol)
    run(
        connection,
        "INSERT INTO protocol_version (club_id, version, settings, saved_us, key_id) VALUES (?, ?, ?, ?, ?)",
        (club_id, saved.version, protocol.model_dump_json(by_alias=True), saved.saved_us, key_id),
    )
    return saved
