"""Erasing a person: every row that tells about an athlete goes, and nothing that is left says who it was."""

import orjson
from sqlalchemy import Connection

from stillset_service.store.engine import fetch, run
from stillset_service.store.packing import unpack_document

__all__ = ["erase"]


def erase(connection: Connection, club_id: str, athlete_id: str) -> None:
    """Delete everything about an athlete."""
    _disown_moved_sets(connection, club_id, athlete_id)
    own_sets = "set_id IN (SELECT id FROM stored_set WHERE club_id = ? AND athlete_id = ?)"
    run(connection, f"DELETE FROM set_version WHERE {own_sets}", (club_id, athlete_id))  # noqa: S608 (constant)
    for table in ("stored_set", "standard_position", "period", "attention_answer", "audit"):
        run(connection, f"DELETE FROM {table} WHERE club_id = ? AND athlete_id = ?", (club_id, athlete_id))  # noqa: S608 (constants)
    run(connection, "DELETE FROM athlete WHERE club_id = ? AND id = ?", (club_id, athlete_id))


def _disown_moved_sets(connection: Connection, club_id: str, athlete_id: str) -> None:
    """Let go of sets that were once this athlete's and were amended to be another's.

    They stay with the other; their earlier content would name the erased one, so the content in force takes the
    place of the first, also in the answer that a retry gets.
    """
    sql = "DELETE FROM set_version WHERE club_id = ? AND athlete_id_before = ?"
    run(connection, sql, (club_id, athlete_id))
    sql = """SELECT s.id, s.document, s.first_answer, a.ref FROM stored_set s JOIN athlete a ON a.id = s.athlete_id
     WHERE s.club_id = ? AND s.first_athlete_id = ? AND s.athlete_id <> s.first_athlete_id"""
    for set_id, document, answer, ref in fetch(connection, sql, (club_id, athlete_id)):
        sent = orjson.loads(unpack_document(document))
        kept = orjson.loads(answer) | {"athlete": ref, "performed_at": sent["performed_at"]}
        run(
            connection,
            """UPDATE stored_set SET first_document = NULL, first_athlete_id = athlete_id, first_answer = ?
             WHERE club_id = ? AND id = ?""",
            (orjson.dumps(kept), club_id, set_id),
        )
