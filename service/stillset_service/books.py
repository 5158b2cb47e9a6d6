"""The book of an athlete: everything on record, from which everything else is derived.

A book is a frozen value of one revision of the athlete. It is kept in memory and brought up to
date from the rows that changed since, so that a reading asked for after an acknowledged write
always reflects it: each ``open_book`` compares revisions with the store first.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from sqlalchemy import Connection

from stillset_core.records import SetRecord, StandardPosition
from stillset_service.store.athletes import AthleteFacts

__all__ = ["Book", "PeriodFacts", "SetStatus", "StoredSet", "open_book", "open_books", "open_documents"]


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
class PeriodFacts:
    """A dated span of an athlete; ``to_date`` is None while it is open."""

    id: str
    kind: str
    from_date: date
    to_date: date | None
    note: str | None


@dataclass(frozen=True, slots=True)
class Book:
    """Everything on record of one athlete at one revision.

    ``sets`` holds withdrawn ones too and is ordered by (performed_at, client_ref); ``active`` are the records that
    everything is derived from, in the same order.
    """

    athlete: AthleteFacts
    sets: tuple[StoredSet, ...] = ()
    positions: tuple[StandardPosition, ...] = ()
    periods: tuple[PeriodFacts, ...] = ()
    active: tuple[SetRecord, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        active = tuple(stored.record for stored in self.sets if stored.status is not SetStatus.WITHDRAWN)
        object.__setattr__(self, "active", active)

    @property
    def revision(self) -> int:
        """The athlete's revision that this book shows."""
        return self.athlete.revision


def open_book(connection: Connection, club_id: str, ref_or_id: str) -> Book | None:
    """Open the book of an athlete by ref or id; None if the club has no such athlete."""
    raise NotImplementedError


def open_books(connection: Connection, club_id: str, squad_ref: str | None = None) -> list[Book]:
    """Open the books of a club, or of one of its squads, by ref; archived athletes included."""
    raise NotImplementedError


def open_documents(connection: Connection, club_id: str, ids: Iterable[str]) -> dict[str, dict[str, object]]:
    """Read the documents in force of some sets, verbatim, by id of the set."""
    raise NotImplementedError
