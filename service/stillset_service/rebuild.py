"""Make everything derived again from the documents on record; when nothing was wrong, nothing changes."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from stillset_core.document import parse_accepted_set
from stillset_core.intake import to_record
from stillset_service.books import open_book_of
from stillset_service.recompute import state_of
from stillset_service.store import athletes, clubs, protocols, sets
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.engine import Store
from stillset_service.store.packing import pack_record

__all__ = ["Rebuilt", "everybody", "rebuild_athlete"]


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What was made again of one athlete, and how many packed records were not what their documents say."""

    sets: int
    readings: int
    changed: int


def everybody(store: Store) -> list[tuple[str, AthleteFacts]]:
    """List the athletes of every club, each with the id of the club."""
    with store.read() as connection:
        return [(club_id, facts) for club_id in clubs.ids(connection) for facts in athletes.listed(connection, club_id)]


def rebuild_athlete(store: Store, club_id: str, facts: AthleteFacts, as_of: datetime) -> Rebuilt:
    """Make the records of one athlete again from the documents, then everything derived from the records.

    Parameters
    ----------
    store : Store
    club_id : str
    facts : AthleteFacts
    as_of : datetime
        The moment for which the state is derived.

    Returns
    -------
    Rebuilt
    """
    with store.write() as connection:
        differing = list(_differing(connection, club_id, facts))
        if differing:
            revision, _ = athletes.bump(connection, club_id, [facts.id])[facts.id]
            sets.put_records(connection, club_id, revision, differing)
    with store.read() as connection:
        found = athletes.with_id(connection, club_id, facts.id)
        book = None if found is None else open_book_of(connection, club_id, found)
        saved = protocols.in_force(connection, club_id)
    if book is None:
        return Rebuilt(0, 0, 0)
    return Rebuilt(len(book.sets), len(state_of(book, saved, as_of).readings), len(differing))


def _differing(connection: Connection, club_id: str, facts: AthleteFacts) -> Iterator[tuple[str, bytes]]:
    """Give the ids and right records of the sets whose packed record is not what their document says."""
    rows = sets.changed_since(connection, club_id, facts.id, 0)
    documents = sets.documents(connection, club_id, [row[0] for row in rows])
    for set_id, packed, _, _ in rows:
        document = parse_accepted_set(documents[set_id])
        record = pack_record(to_record(document, athlete_ref=facts.ref))
        if record != bytes(packed):
            yield set_id, record
