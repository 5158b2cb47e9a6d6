"""Keys as they are kept: never the secret, only its SHA-256."""

from dataclasses import dataclass

from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.store.engine import fetch, fetch_one, run

__all__ = ["KeyFacts", "NewKey", "StoredKey", "active", "add", "any_made", "listed", "revoke"]


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key about to be stored; scopes are parted by spaces."""

    id: str
    name: str
    scopes: str
    secret_sha256: bytes


@dataclass(frozen=True, slots=True)
class StoredKey:
    """What verifying needs."""

    id: str
    club_id: str
    scopes: str
    secret_sha256: bytes


@dataclass(frozen=True, slots=True)
class KeyFacts:
    """What may be shown of a key."""

    id: str
    name: str
    scopes: str
    created_us: int
    revoked_us: int | None


def add(connection: Connection, club_id: str, key: NewKey) -> None:
    """Store a key."""
    run(
        connection,
        "INSERT INTO api_key (id, club_id, name, scopes, secret_sha256, created_us) VALUES (?, ?, ?, ?, ?, ?)",
        (key.id, club_id, key.name, key.scopes, key.secret_sha256, clock.microseconds(clock.now())),
    )


def active(connection: Connection, key_id: str) -> StoredKey | None:
    """Find a key that has not been revoked. The only query without a club: it is what tells the club."""
    sql = "SELECT id, club_id, scopes, secret_sha256 FROM api_key WHERE id = ? AND revoked_us IS NULL"
    row = fetch_one(connection, sql, (key_id,))
    return None if row is None else StoredKey(row[0], row[1], row[2], bytes(row[3]))


def any_made(connection: Connection) -> bool:
    """Tell whether any club of this store has ever had a key."""
    return fetch_one(connection, "SELECT 1 FROM api_key LIMIT 1") is not None


def listed(connection: Connection, club_id: str) -> list[KeyFacts]:
    """List the keys of a club, oldest first, revoked ones included."""
    sql = "SELECT id, name, scopes, created_us, revoked_us FROM api_key WHERE club_id = ? ORDER BY created_us, id"
    return [KeyFacts(*row) for row in fetch(connection, sql, (club_id,))]


def revoke(connection: Connection, club_id: str, key_id: str) -> bool:
    """Revoke a key; False if the club has no such key that is still active."""
    sql = "UPDATE api_key SET revoked_us = ? WHERE club_id = ? AND id = ? AND revoked_us IS NULL"
    return run(connection, sql, (clock.microseconds(clock.now()), club_id, key_id)) == 1
