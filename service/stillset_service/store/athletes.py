"""Athletes of a club."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from stillset_core.records import Side
from stillset_service.store.engine import Parameter, run

__all__ = ["AthleteFacts", "find", "listed"]


@dataclass(frozen=True, slots=True)
class AthleteFacts:
    """What is on file about an athlete; ``squad`` is the ref of the squad, ``revision`` that of everything derived."""

    id: str
    ref: str
    name: str | None = None
    squad: str | None = None
    role: str | None = None
    dominant_side: Side | None = None
    sex: str | None = None
    born: date | None = None
    archived: bool = False
    revision: int = 0
    reload_revision: int = 0


_COLUMNS = """a.id, a.ref, a.name, s.ref, a.role, a.dominant_side, a.sex, a.born, a.archived, a.revision,
 a.reload_revision FROM athlete a LEFT JOIN squad s ON s.id = a.squad_id"""


def find(connection: Connection, club_id: str, ref_or_id: str) -> AthleteFacts | None:
    """Find an athlete by ref, which is tried first, or by id."""
    sql = f"SELECT {_COLUMNS} WHERE a.club_id = ? AND (a.ref = ? OR a.id = ?) ORDER BY a.ref = ? DESC LIMIT 1"
    row = run(connection, sql, (club_id, ref_or_id, ref_or_id, ref_or_id)).first()
    return None if row is None else _facts(row)


def listed(connection: Connection, club_id: str, squad_ref: str | None = None) -> list[AthleteFacts]:
    """List the athletes of a club, or of one of its squads, by ref."""
    narrowed, values = ("", (club_id,)) if squad_ref is None else (" AND s.ref = ?", (club_id, squad_ref))
    sql = f"SELECT {_COLUMNS} WHERE a.club_id = ?{narrowed}"
    return sorted((_facts(row) for row in run(connection, sql, values)), key=lambda facts: facts.ref)


def _facts(row: Iterable[Parameter]) -> AthleteFacts:
    id_, ref, name, squad, role, side, sex, born, archived, revision, reload_revision = row
    return AthleteFacts(
        id=str(id_),
        ref=str(ref),
        name=_text(name),
        squad=_text(squad),
        role=_text(role),
        dominant_side=None if side is None else Side(str(side)),
        sex=_text(sex),
        born=None if born is None else date.fromisoformat(str(born)),
        archived=bool(archived),
        revision=int(str(revision)),
        reload_revision=int(str(reload_revision)),
    )


def _text(value: Parameter) -> str | None:
    return None if value is None else str(value)
