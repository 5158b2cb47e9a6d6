"""Clubs."""

from sqlalchemy import Connection

from stillset_core.protocol import Protocol
from stillset_service import clock
from stillset_service.ids import new_id
from stillset_service.store import protocols
from stillset_service.store.engine import fetch, fetch_one, run

__all__ = ["ensure", "find", "ids", "name", "rename", "take_turns"]


def ensure(connection: Connection, slug: str) -> str:
    """Give the id of the club of a slug, making the club, with the protocol at its defaults, if it is not there."""
    club_id = new_id()
    values = (club_id, slug, slug, clock.microseconds(clock.now()))
    sql = "INSERT INTO club (id, slug, name, created_us) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING"
    if run(connection, sql, values) == 1:
        protocols.save(connection, club_id, Protocol(), None)
        return club_id
    existing = find(connection, slug)
    if existing is None:
        raise LookupError(slug)
    return existing


def find(connection: Connection, slug: str) -> str | None:
    """Give the id of the club of a slug, if it is there."""
    row = fetch_one(connection, "SELECT id FROM club WHERE slug = ?", (slug,))
    return None if row is None else str(row[0])


def rename(connection: Connection, club_id: str, name: str) -> None:
    """Give a club the name that its pages show."""
    run(connection, "UPDATE club SET name = ? WHERE id = ?", (name, club_id))


def take_turns(connection: Connection, club_id: str) -> None:
    """Let no other transaction that asks for its turn go on before this one ends.

    Corrections lock sets and athletes in the order in which they find them, and an erasure the other way round; one
    after another they cannot block each other. SQLite has one writer at a time anyway.
    """
    if connection.dialect.name == "postgresql":
        run(connection, "UPDATE club SET slug = slug WHERE id = ?", (club_id,))


def ids(connection: Connection) -> list[str]:
    """List the ids of all clubs, oldest first."""
    return [str(row[0]) for row in fetch(connection, "SELECT id FROM club ORDER BY id")]


def name(connection: Connection, club_id: str) -> str:
    """Give the name of a club."""
    row = fetch_one(connection, "SELECT name FROM club WHERE id = ?", (club_id,))
    if row is None:
        raise LookupError(club_id)
    return str(row[0])
