"""The standard positions of athletes, from a date on."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.store.engine import fetch, run

__all__ = ["SavedPosition", "listed", "put"]


@dataclass(frozen=True, slots=True)
class SavedPosition:
    """A standard position as it was put: ``document`` is JSON text."""

    valid_from: str
    document: str
    saved_us: int


def put(connection: Connection, club_id: str, athlete_id: str, valid_from: str, document: str) -> SavedPosition:
    """Store a standard position, in place of one that begins at the same date."""
    saved = SavedPosition(valid_from, document, clock.microseconds(clock.now()))
    run(
        connection,
        """INSERT INTO standard_position (athlete_id, valid_from, club_id, document, saved_us) VALUES (?, ?, ?, ?, ?)
         ON CONFLICT (athlete_id, valid_from)
         DO UPDATE SET document = excluded.document, saved_us = excluded.saved_us""",
        (athlete_id, valid_from, club_id, document, saved.saved_us),
    )
    return saved


def listed(connection: Connection, club_id: str, athlete_id: str) -> Sequence[SavedPosition]:
    """List the standard positions of an athlete, earliest first."""
    sql = """SELECT valid_from, document, saved_us FROM standard_position
     WHERE club_id = ? AND athlete_id = ? ORDER BY valid_from"""
    return [SavedPosition(*row) for row in fetch(connection, sql, (club_id, athlete_id))]
