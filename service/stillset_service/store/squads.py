"""Squads of a club."""

from dataclasses import dataclass, replace

from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.ids import new_id
from stillset_service.store.engine import fetch, fetch_one, run

__all__ = ["SquadFacts", "add", "find", "listed", "rename"]


@dataclass(frozen=True, slots=True)
class SquadFacts:
    """A squad."""

    id: str
    ref: str
    name: str


def add(connection: Connection, club_id: str, ref: str, name: str) -> SquadFacts | None:
    """Store a squad; None if the ref is taken."""
    squad = SquadFacts(new_id(), ref, name)
    values = (squad.id, club_id, ref, name, clock.microseconds(clock.now()))
    sql = "INSERT INTO squad (id, club_id, ref, name, created_us) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING"
    return squad if run(connection, sql, values) == 1 else None


def find(connection: Connection, club_id: str, ref_or_id: str) -> SquadFacts | None:
    """Find a squad by ref, which is tried first, or by id."""
    sql = "SELECT id, ref, name FROM squad WHERE club_id = ? AND (ref = ? OR id = ?) ORDER BY ref = ? DESC LIMIT 1"
    row = fetch_one(connection, sql, (club_id, ref_or_id, ref_or_id, ref_or_id))
    return None if row is None else SquadFacts(*row)


def listed(connection: Connection, club_id: str) -> list[SquadFacts]:
    """List the squads of a club by ref."""
    rows = fetch(connection, "SELECT id, ref, name FROM squad WHERE club_id = ?", (club_id,))
    return sorted((SquadFacts(*row) for row in rows), key=lambda squad: squad.ref)


def rename(connection: Connection, club_id: str, squad: SquadFacts, name: str) -> SquadFacts:
    """Give a squad another name."""
    run(connection, "UPDATE squad SET name = ? WHERE club_id = ? AND id = ?", (name, club_id, squad.id))
    return replace(squad, name=name)
