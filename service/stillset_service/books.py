"""The book of an athlete: everything on record, from which everything else is derived.

A book is a frozen value of one revision of the athlete. It is kept in memory and brought up to
date from the rows that changed since, so that a reading asked for after an acknowledged write
always reflects it: each ``open_book`` compares revisions with the store first.
"""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

import orjson
from sqlalchemy import Connection

from stillset_core.records import InstrumentKind, Position, SetRecord, StandardPosition
from stillset_core.session import set_order
from stillset_service.memory import Memory
from stillset_service.store import athletes, periods, positions, sets
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.packing import unpack_record
from stillset_service.store.periods import PeriodFacts

__all__ = [
    "Book",
    "PeriodFacts",
    "SetStatus",
    "StoredSet",
    "book_at",
    "forget",
    "keep",
    "open_book",
    "open_book_of",
    "open_books",
    "open_documents",
]


class SetStatus(StrEnum):
    """Where a stored set stands."""

    ACTIVE = "active"
    AMENDED = "amended"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class StoredSet:
    """A set on record; ``record`` is the content in force, in SI. The document itself: ``open_documents``."""

    id: str
    record: SetRecord
    status: SetStatus
    received_us: int

    @property
    def client_ref(self) -> str:
        """The client's own id of this set."""
        return self.record.client_ref


@dataclass(frozen=True, slots=True)
class Book:
    """Everything on record of one athlete at one revision.

    ``sets`` holds withdrawn ones too and is ordered by (performed_at, client_ref); ``active`` are the records that
    everything is derived from, in the same order.
    """

    athlete: AthleteFacts
    sets: tuple[StoredSet, ...] = ()
    active: tuple[SetRecord, ...] = ()
    positions: tuple[StandardPosition, ...] = ()
    periods: tuple[PeriodFacts, ...] = ()

    @property
    def revision(self) -> int:
        """The athlete's revision that this book shows."""
        return self.athlete.revision

    def with_new(self, new: Iterable[StoredSet], facts: AthleteFacts) -> "Book":
        """Give the book of the next revision, in which some sets were added."""
        stored, active = list(self.sets), list(self.active)
        for one in new:
            place = set_order(one.record)
            if not stored or _place(stored[-1]) < place:  # sets mostly come in order
                stored.append(one)
                active.append(one.record)
            else:
                stored.insert(bisect_left(stored, place, key=_place), one)
                active.insert(bisect_left(active, place, key=set_order), one.record)
        return replace(self, athlete=facts, sets=tuple(stored), active=tuple(active))

    def with_changed(self, changed: Iterable[StoredSet], facts: AthleteFacts) -> "Book":
        """Give the book of a later revision, in which some sets were added or changed."""
        merged = {stored.id: stored for stored in self.sets} | {stored.id: stored for stored in changed}
        ordered = tuple(sorted(merged.values(), key=_place))
        active = tuple([stored.record for stored in ordered if stored.status is not SetStatus.WITHDRAWN])
        return replace(self, athlete=facts, sets=ordered, active=active)


_SHELF: Memory[str, Book] = Memory(capacity=200_000)
"""The latest book of each athlete, by id; weighed by number of sets. Ids are unique over all stores."""


def open_book(connection: Connection, club_id: str, ref_or_id: str) -> Book | None:
    """Open the book of an athlete by ref or id; None if the club has no such athlete."""
    facts = athletes.find(connection, club_id, ref_or_id)
    return None if facts is None else open_book_of(connection, club_id, facts)


def open_book_of(connection: Connection, club_id: str, facts: AthleteFacts) -> Book:
    """Open the book of an athlete who has been found."""
    book = book_at(connection, club_id, facts)
    keep(book)
    return book


def open_books(connection: Connection, club_id: str, squad_ref: str | None = None) -> list[Book]:
    """Open the books of a club, or of one of its squads, by ref; archived athletes included."""
    everybody = athletes.listed(connection, club_id, squad_ref)
    return [open_book_of(connection, club_id, facts) for facts in everybody]


def open_documents(connection: Connection, club_id: str, ids: Iterable[str]) -> dict[str, dict[str, object]]:
    """Read the documents in force of some sets, verbatim, by id of the set."""
    return {id_: orjson.loads(document) for id_, document in sets.documents(connection, club_id, ids).items()}


def book_at(connection: Connection, club_id: str, facts: AthleteFacts) -> Book:
    """Bring the book of an athlete to the revision of ``facts``, without remembering it.

    For transactions that may yet be rolled back; what they made is remembered by ``keep`` after the commit.
    """
    kept = _SHELF.get(facts.id)
    if kept is not None and kept.revision == facts.revision:
        # Names of squads may change without a revision.
        return kept if kept.athlete == facts else replace(kept, athlete=facts)
    if kept is None or not facts.reload_revision <= kept.revision < facts.revision:
        kept = Book(facts)
    rows = sets.changed_since(connection, club_id, facts.id, kept.revision if kept.sets else 0)
    changed = [StoredSet(id_, unpack_record(record), SetStatus(status), us) for id_, record, status, us in rows]
    return replace(
        kept.with_changed(changed, facts),
        positions=tuple([_standard(row.document) for row in positions.listed(connection, club_id, facts.id)]),
        periods=periods.listed(connection, club_id, facts.id),
    )


def keep(book: Book) -> None:
    """Remember a book of a committed revision, unless a later one is remembered."""
    kept = _SHELF.get(book.athlete.id)
    if kept is None or kept.revision <= book.revision:
        _SHELF.put(book.athlete.id, book, weight=1 + len(book.sets))


def forget(athlete_id: str) -> None:
    """Remember nothing of an athlete any more."""
    _SHELF.forget(athlete_id)


def _place(stored: StoredSet) -> tuple[datetime, str]:
    return set_order(stored.record)


def _standard(document: str) -> StandardPosition:
    value = orjson.loads(document)
    return StandardPosition(
        position=Position(**value["position"]),
        instrument_kind=InstrumentKind(value["instrument_kind"]),
        valid_from=date.fromisoformat(value["valid_from"]),
        measured_by=value.get("measured_by"),
    )
