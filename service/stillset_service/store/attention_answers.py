"""What was answered to attention items: by whom, when, and until when; nothing is overwritten."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from stillset_service.store.engine import SqlRow, fetch, fetch_one, run

__all__ = ["AttentionAnswer", "add", "listed", "newest"]

_COLUMNS = "a.id, p.ref, a.rule, a.direction, a.side, a.serial, a.answer, a.text, a.until_date, a.key_id, a.at_us"


@dataclass(frozen=True, slots=True)
class AttentionAnswer:
    """One answer. ``athlete`` is the ref; None, with a serial, for an instrument."""

    id: str
    athlete: str | None
    rule: str
    direction: str | None
    side: str | None
    serial: str | None
    answer: str
    text: str | None
    until: date | None
    key_id: str
    at_us: int


def add(connection: Connection, club_id: str, athlete_id: str | None, answer: AttentionAnswer) -> None:
    """Store an answer."""
    run(
        connection,
        """INSERT INTO attention_answer (id, club_id, athlete_id, rule, direction, side, serial, answer, text,
         until_date, key_id, at_us) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)""",
        (
            answer.id,
            club_id,
            athlete_id,
            answer.rule,
            answer.direction,
            answer.side,
            answer.serial,
            answer.answer,
            answer.text,
            None if answer.until is None else answer.until.isoformat(),
            answer.key_id,
            answer.at_us,
        ),
    )


def listed(connection: Connection, club_id: str, athlete_id: str | None = None) -> Sequence[AttentionAnswer]:
    """List the answers of a club, or those about one athlete, oldest first."""
    sql = f"""SELECT {_COLUMNS} FROM attention_answer a LEFT JOIN athlete p ON p.id = a.athlete_id
     WHERE a.club_id = ?"""  # noqa: S608 (constants)
    parameters: tuple[str, ...] = (club_id,)
    if athlete_id is not None:
        sql, parameters = f"{sql} AND a.athlete_id = ?", (club_id, athlete_id)
    return [_answer(row) for row in fetch(connection, f"{sql} ORDER BY a.at_us, a.id", parameters)]


def newest(connection: Connection, club_id: str) -> str | None:
    """Give the id of the newest answer of a club: it changes with every answer."""
    row = fetch_one(connection, "SELECT max(id) FROM attention_answer WHERE club_id = ?", (club_id,))
    return None if row is None else row[0]


def _answer(row: SqlRow) -> AttentionAnswer:
    values = list(row)
    values[8] = None if row[8] is None else date.fromisoformat(row[8])
    return AttentionAnswer(*values)
