"""Athletes of a club."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from stillset_core.records import Side
from stillset_service import clock
from stillset_service.store.engine import Parameter, SqlRow, fetch, fetch_one, marks, run

__all__ = ["AthleteFacts", "add", "bump", "change", "find", "find_many", "listed", "with_id"]

Bumped = tuple[int, int]
"""A revision, and the revision before which copies must be loaded anew."""


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


_SELECT = """SELECT a.id, a.ref, a.name, s.ref, a.role, a.dominant_side, a.sex, a.born, a.archived, a.revision,
 a.reload_revision FROM athlete a LEFT JOIN squad s ON s.id = a.squad_id WHERE a.club_id = ?"""


def find(connection: Connection, club_id: str, ref_or_id: str) -> AthleteFacts | None:
    """Find an athlete by ref, which is tried first, or by id."""
    sql = _SELECT + " AND (a.ref = ? OR a.id = ?) ORDER BY CASE WHEN a.ref = ? THEN 0 ELSE 1 END LIMIT 1"
    row = fetch_one(connection, sql, (club_id, ref_or_id, ref_or_id, ref_or_id))
    return None if row is None else _facts(row)


def with_id(connection: Connection, club_id: str, athlete_id: str) -> AthleteFacts | None:
    """Find an athlete by id alone: somebody else's ref may read the same."""
    row = fetch_one(connection, _SELECT + " AND a.id = ?", (club_id, athlete_id))
    return None if row is None else _facts(row)


def find_many(connection: Connection, club_id: str, refs_or_ids: Iterable[str]) -> dict[str, AthleteFacts]:
    """Find athletes by ref, which is tried first, or by id; those not found are absent from the answer."""
    asked = tuple(dict.fromkeys(refs_or_ids))
    by_ref = {facts.ref: facts for facts in _among(connection, club_id, "a.ref", asked)}
    rest = tuple(text for text in asked if text not in by_ref)
    by_id = {facts.id: facts for facts in _among(connection, club_id, "a.id", rest)}
    return {**by_ref, **by_id}


def listed(connection: Connection, club_id: str, squad_ref: str | None = None) -> list[AthleteFacts]:
    """List the athletes of a club, or of one of its squads, by ref."""
    values = (club_id,) if squad_ref is None else (club_id, squad_ref)
    rows = fetch(connection, _SELECT + ("" if squad_ref is None else " AND s.ref = ?"), values)
    return sorted((_facts(row) for row in rows), key=lambda facts: facts.ref)


def add(connection: Connection, club_id: str, athlete_id: str, members: Mapping[str, Parameter]) -> bool:
    """Store an athlete with its columns; False if the ref is taken."""
    made: dict[str, Parameter] = {"id": athlete_id, "club_id": club_id, "revision": 0, "reload_revision": 0}
    made |= {"created_us": clock.microseconds(clock.now()), "archived": bool(members.get("archived"))}
    row = dict(members) | made
    sql = f"INSERT INTO athlete ({', '.join(row)}) VALUES ({marks(len(row))}) ON CONFLICT DO NOTHING"  # noqa: S608 (names are ours)
    return run(connection, sql, tuple(row.values())) == 1


def change(connection: Connection, club_id: str, athlete_id: str, members: Mapping[str, Parameter]) -> None:
    """Change columns of an athlete; everything derived of the athlete is stale then."""
    assignments = ", ".join(f"{column} = ?" for column in members)
    sql = f"UPDATE athlete SET {assignments}, revision = revision + 1 WHERE club_id = ? AND id = ?"  # noqa: S608 (names are ours)
    run(connection, sql, (*members.values(), club_id, athlete_id))


def bump(
    connection: Connection, club_id: str, athlete_ids: Sequence[str], *, reload: bool = False
) -> dict[str, Bumped]:
    """Begin the next revision of some athletes; give (revision, reload_revision) of each that is there, by id.

    The rows stay locked until the transaction ends, so that writes to one athlete follow one another.
    """
    assigned = "revision = revision + 1" + (", reload_revision = revision + 1" if reload else "")
    sql = f"""UPDATE athlete SET {assigned} WHERE club_id = ? AND id IN ({marks(len(athlete_ids))})
     RETURNING id, revision, reload_revision"""  # noqa: S608 (constants and question marks)
    return {row[0]: (row[1], row[2]) for row in fetch(connection, sql, (club_id, *athlete_ids))}


def _among(connection: Connection, club_id: str, column: str, values: tuple[str, ...]) -> list[AthleteFacts]:
    if not values:
        return []
    rows = fetch(connection, f"{_SELECT} AND {column} IN ({marks(len(values))})", (club_id, *values))
    return [_facts(row) for row in rows]


def _facts(row: SqlRow) -> AthleteFacts:
    id_, ref, name, squad, role, side, sex, born, archived, revision, reload_revision = row
    return AthleteFacts(
        id=id_,
        ref=ref,
        name=name,
        squad=squad,
        role=role,
        dominant_side=None if side is None else Side(side),
        sex=sex,
        born=None if born is None else date.fromisoformat(born),
        archived=bool(archived),
        revision=revision,
        reload_revision=reload_revision,
    )
