"""Sets: stored as sent, found by client_ref, by id, and by what changed since a revision of their athlete."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from stillset_service.store.engine import SqlRow, fetch, fetch_one, marks, run, run_many
from stillset_service.store.packing import pack_document, unpack_document

__all__ = [
    "Change",
    "FirstContent",
    "NewContent",
    "NewSet",
    "SetVersionFacts",
    "StoredContent",
    "amend",
    "athletes_of",
    "changed_since",
    "documents",
    "find",
    "first_contents",
    "insert",
    "of_athlete",
    "put_records",
    "versions",
    "withdraw",
]

_CHUNK = 500
"""Values in one list of a query: well under SQLite's limit on variables of any version."""


@dataclass(frozen=True, slots=True)
class NewSet:
    """A set about to be stored; ``record`` is packed, ``document`` and ``answer`` are JSON text."""

    id: str
    athlete_id: str
    client_ref: str
    revision: int
    received_us: int
    key_id: str
    record: bytes
    document: bytes
    answer: bytes


@dataclass(frozen=True, slots=True)
class FirstContent:
    """What a retry is compared with, whatever became of the set since: its first document and its first answer."""

    id: str
    athlete_id: str
    document: bytes
    answer: bytes


@dataclass(frozen=True, slots=True)
class StoredContent:
    """A set as it stands."""

    id: str
    athlete_id: str
    client_ref: str
    status: str
    document: bytes
    received_us: int


@dataclass(frozen=True, slots=True)
class SetVersionFacts:
    """An amendment or a withdrawal, with the document that stood before it."""

    number: int
    kind: str
    reason: str
    key_id: str
    at_us: int
    document_before: bytes


@dataclass(frozen=True, slots=True)
class Change:
    """A change to a set: what kind, why, by whom, when, and the content that stood before."""

    kind: str
    reason: str
    key_id: str
    at_us: int
    before: StoredContent


@dataclass(frozen=True, slots=True)
class NewContent:
    """Another content of a stored set; ``record`` is packed, ``document`` is JSON text."""

    id: str
    athlete_id: str
    revision: int
    record: bytes
    document: bytes


def insert(connection: Connection, club_id: str, sets: Sequence[NewSet]) -> None:
    """Store sets whose client_refs are not yet there."""
    run_many(
        connection,
        """INSERT INTO stored_set (id, club_id, athlete_id, client_ref, status, revision, received_us, key_id,
         first_athlete_id, record, document, first_answer) VALUES (?, ?, ?, ?, 'active', ?, ?, ?, ?, ?, ?, ?)""",
        [
            (
                new.id,
                club_id,
                new.athlete_id,
                new.client_ref,
                new.revision,
                new.received_us,
                new.key_id,
                new.athlete_id,
                new.record,
                pack_document(new.document),
                new.answer,
            )
            for new in sets
        ],
    )


def first_contents(connection: Connection, club_id: str, client_refs: Sequence[str]) -> dict[str, FirstContent]:
    """Find which client_refs are stored already, withdrawn ones included."""
    found: dict[str, FirstContent] = {}
    for start in range(0, len(client_refs), _CHUNK):
        chunk = client_refs[start : start + _CHUNK]
        sql = f"""SELECT client_ref, id, first_athlete_id, COALESCE(first_document, document), first_answer
         FROM stored_set WHERE club_id = ? AND client_ref IN ({marks(len(chunk))})"""  # noqa: S608 (question marks)
        for ref, id_, athlete_id, document, answer in fetch(connection, sql, (club_id, *chunk)):
            found[ref] = FirstContent(id_, athlete_id, unpack_document(document), bytes(answer))
    return found


def athletes_of(connection: Connection, club_id: str, ids: Sequence[str]) -> set[str]:
    """Tell whose some sets are, as they stand."""
    found: set[str] = set()
    for start in range(0, len(ids), _CHUNK):
        chunk = ids[start : start + _CHUNK]
        sql = f"SELECT DISTINCT athlete_id FROM stored_set WHERE club_id = ? AND id IN ({marks(len(chunk))})"  # noqa: S608 (question marks)
        found.update(athlete_id for (athlete_id,) in fetch(connection, sql, (club_id, *chunk)))
    return found


def find(connection: Connection, club_id: str, set_id: str, *, to_change: bool = False) -> StoredContent | None:
    """Find a set by id; ``to_change`` lets no other process change it before this transaction ends."""
    sql = """SELECT id, athlete_id, client_ref, status, document, received_us FROM stored_set
     WHERE club_id = ? AND id = ?"""
    if to_change and connection.dialect.name == "postgresql":
        sql += " FOR UPDATE"  # SQLite has one writer at a time.
    row = fetch_one(connection, sql, (club_id, set_id))
    return None if row is None else _stored(row)


def of_athlete(connection: Connection, club_id: str, athlete_id: str) -> list[StoredContent]:
    """Give the sets of an athlete, withdrawn ones too, oldest row first."""
    sql = """SELECT id, athlete_id, client_ref, status, document, received_us FROM stored_set
     WHERE club_id = ? AND athlete_id = ? ORDER BY id"""
    rows = fetch(connection, sql, (club_id, athlete_id))
    return [_stored(row) for row in rows]


def changed_since(connection: Connection, club_id: str, athlete_id: str, revision: int) -> Sequence[SqlRow]:
    """Give (id, record, status, received_us) of the sets of an athlete that changed after a revision; 0 gives all."""
    sql = """SELECT id, record, status, received_us FROM stored_set
     WHERE club_id = ? AND athlete_id = ? AND revision > ?"""
    return fetch(connection, sql, (club_id, athlete_id, revision))


def documents(connection: Connection, club_id: str, ids: Iterable[str]) -> dict[str, bytes]:
    """Read the documents in force of some sets, by id of the set."""
    asked = tuple(ids)
    found: dict[str, bytes] = {}
    for start in range(0, len(asked), _CHUNK):
        chunk = asked[start : start + _CHUNK]
        sql = f"SELECT id, document FROM stored_set WHERE club_id = ? AND id IN ({marks(len(chunk))})"  # noqa: S608 (question marks)
        found.update((row[0], unpack_document(row[1])) for row in fetch(connection, sql, (club_id, *chunk)))
    return found


def amend(connection: Connection, club_id: str, new: NewContent, change: Change) -> None:
    """Put another content in force; the first one stays."""
    _add_version(connection, club_id, new.id, change)
    run(
        connection,
        """UPDATE stored_set SET first_document = COALESCE(first_document, document), document = ?, record = ?,
         athlete_id = ?, revision = ?, status = 'amended' WHERE club_id = ? AND id = ?""",
        (pack_document(new.document), new.record, new.athlete_id, new.revision, club_id, new.id),
    )


def put_records(connection: Connection, club_id: str, revision: int, records: Sequence[tuple[str, bytes]]) -> None:
    """Put other packed records in place of those of some sets, by id; their documents stay."""
    run_many(
        connection,
        "UPDATE stored_set SET record = ?, revision = ? WHERE club_id = ? AND id = ?",
        [(record, revision, club_id, set_id) for set_id, record in records],
    )


def withdraw(connection: Connection, club_id: str, set_id: str, revision: int, change: Change) -> None:
    """Withdraw a set; its content stays."""
    _add_version(connection, club_id, set_id, change)
    sql = "UPDATE stored_set SET status = 'withdrawn', revision = ? WHERE club_id = ? AND id = ?"
    run(connection, sql, (revision, club_id, set_id))


def versions(connection: Connection, club_id: str, set_id: str) -> list[SetVersionFacts]:
    """List the changes of a set, oldest first."""
    sql = """SELECT number, kind, reason, key_id, at_us, document_before FROM set_version
     WHERE club_id = ? AND set_id = ? ORDER BY number"""
    rows = fetch(connection, sql, (club_id, set_id))
    return [_version(row) for row in rows]


def _add_version(connection: Connection, club_id: str, set_id: str, change: Change) -> None:
    sql = "SELECT COALESCE(MAX(number), 0) + 1 FROM set_version WHERE club_id = ? AND set_id = ?"
    row = fetch_one(connection, sql, (club_id, set_id))
    number = 1 if row is None else row[0]
    values = (set_id, number, club_id, change.kind, change.reason, change.key_id, change.at_us)
    run(
        connection,
        """INSERT INTO set_version (set_id, number, club_id, kind, reason, key_id, at_us, athlete_id_before,
         document_before) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)""",
        (*values, change.before.athlete_id, pack_document(change.before.document)),
    )


def _stored(row: SqlRow) -> StoredContent:
    id_, athlete_id, client_ref, status, document, received_us = row
    return StoredContent(id_, athlete_id, client_ref, status, unpack_document(document), received_us)


def _version(row: SqlRow) -> SetVersionFacts:
    number, kind, reason, key_id, at_us, document = row
    return SetVersionFacts(number, kind, reason, key_id, at_us, unpack_document(document))
