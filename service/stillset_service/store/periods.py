"""The periods of athletes: injury, rehabilitation, break, baseline, competition."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from stillset_service.store.engine import fetch, run

__all__ = ["PeriodFacts", "add", "listed", "remove"]


@dataclass(frozen=True, slots=True)
class PeriodFacts:
    """A dated span of an athlete; ``to_date`` is None while it is open."""

    id: str
    kind: str
    from_date: date
    to_date: date | None
    note: str | None


def add(connection: Connection, club_id: str, athlete_id: str, period: PeriodFacts) -> None:
    """Store a period."""
    end = None if period.to_date is None else period.to_date.isoformat()
    run(
        connection,
        "INSERT INTO period (id, club_id, athlete_id, kind, from_date, to_date, note) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (period.id, club_id, athlete_id, period.kind, period.from_date.isoformat(), end, period.note),
    )


def listed(connection: Connection, club_id: str, athlete_id: str) -> tuple[PeriodFacts, ...]:
    """List the periods of an athlete, earliest first."""
    sql = """SELECT id, kind, from_date, to_date, note FROM period WHERE club_id = ? AND athlete_id = ?
     ORDER BY from_date, id"""
    return tuple(
        PeriodFacts(
            row[0], row[1], date.fromisoformat(row[2]), None if row[3] is None else date.fromisoformat(row[3]), row[4]
        )
        for row in fetch(connection, sql, (club_id, athlete_id))
    )


def remove(connection: Connection, club_id: str, athlete_id: str, period_id: str) -> bool:
    """Delete a period; False if the athlete has no such period."""
    sql = "DELETE FROM period WHERE club_id = ? AND athlete_id = ? AND id = ?"
    return run(connection, sql, (club_id, athlete_id, period_id)) == 1
