"""Taking sets in, many at once: tell the new from the seen, judge, answer, store.

All sets of one call are taken in together, so that the standings of each are those among all of
them. Nothing here commits; what the books look like afterwards is given back, to be remembered
once the transaction is durable.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import orjson
from sqlalchemy import Connection

from stillset_core.content import differing_pointers
from stillset_core.document import SetDocument, parse_accepted_set
from stillset_core.errors import Fault
from stillset_core.history import judge_among
from stillset_core.judging.answer import standings_answer
from stillset_core.protocol import Protocol
from stillset_core.records import SetRecord
from stillset_service import clock
from stillset_service.books import Book, SetStatus, StoredSet, book_at
from stillset_service.ids import new_id
from stillset_service.ingest.answer import judged_answer
from stillset_service.ingest.items import Item, Outcome, Result
from stillset_service.problems import Conflict, Problem, Unprocessable
from stillset_service.store import athletes, protocols, sets
from stillset_service.store.athletes import AthleteFacts, Bumped
from stillset_service.store.packing import pack_record
from stillset_service.store.sets import FirstContent, NewSet

__all__ = ["Taken", "Visit", "conflict_of", "take_in", "unknown_athlete"]


@dataclass(frozen=True, slots=True)
class Visit:
    """One call: the transaction, the club, the moment, and whether anything is stored (a dry run stores nothing)."""

    connection: Connection
    club_id: str
    now: datetime
    stores: bool


@dataclass(frozen=True, slots=True)
class Taken:
    """The result of each item, in order, and the books as they are after the commit."""

    results: tuple[Result, ...]
    books: tuple[Book, ...]


@dataclass(slots=True)
class _New:
    """A set that is not stored yet; its answer is written once all sets of the call are in."""

    item: Item
    athlete: AthleteFacts
    record: SetRecord
    id: str
    standings: bytes = b""
    answer: bytes = b""


@dataclass(frozen=True, slots=True)
class _Pending:
    """The result of a new set, or of its twin in the same call."""

    new: _New
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class _Stored:
    """The result of a set that was there already: the first answer, and the standings after this call."""

    client_ref: str
    first: FirstContent


def take_in(visit: Visit, items: Sequence[Item]) -> Taken:
    """Take in sets of one club.

    A set that is there already, from earlier or from earlier in ``items``, is seen or in conflict; the others are new.
    """
    known = athletes.find_many(visit.connection, visit.club_id, [item.document.athlete for item in items])
    refs = list({item.document.client_ref for item in items})
    first = sets.first_contents(visit.connection, visit.club_id, refs)
    new: dict[str, _New] = {}
    settled: list[Result | _Pending | _Stored] = []
    for item in items:
        ref, facts = item.document.client_ref, known.get(item.document.athlete)
        if facts is None:
            settled.append(Result(Outcome.INVALID, ref, problem=unknown_athlete(item.document.athlete)))
        elif ref in first:
            settled.append(_again(item.document, facts, first[ref]))
        elif ref in new:
            settled.append(_twin(item.document, facts, new[ref]))
        else:
            record = item.record if item.record.athlete == facts.ref else replace(item.record, athlete=facts.ref)
            new[ref] = _New(item, facts, record, new_id())
            settled.append(_Pending(new[ref], Outcome.STORED))
    protocol = protocols.in_force(visit.connection, visit.club_id).protocol
    books = _judge_and_store(visit, new.values(), protocol)
    seen = [one.first for one in settled if isinstance(one, _Stored)]
    standings = _standings_now(visit, seen, books, protocol)
    return Taken(tuple([_finished(visit, one, standings) for one in settled]), books)


def unknown_athlete(name: str) -> Problem:
    """Refuse a set of nobody on file."""
    detail = f"The club has no athlete {name!r}."
    return Unprocessable(detail, [Fault("/athlete", "unknown-athlete", detail)], code="unknown-athlete")


def conflict_of(pointers: Iterable[str]) -> Problem:
    """Refuse other content under a client_ref that is taken, naming what differs."""
    detail = "differs from what was first sent under this client_ref."
    faults = [Fault(pointer, "differs", f"{pointer} {detail}") for pointer in pointers]
    return Conflict("This client_ref is taken by a set with other content.", faults, code="client-ref-taken")


def _again(document: SetDocument, facts: AthleteFacts, first: FirstContent) -> Result | _Stored:
    """Compare a set with the first content under its client_ref, whatever became of that since."""
    sent_first = parse_accepted_set(first.document)
    differing = differing_pointers(sent_first, document, same_athlete=facts.id == first.athlete_id)
    if differing:
        return Result(Outcome.CONFLICT, document.client_ref, problem=conflict_of(differing))
    return _Stored(document.client_ref, first)


def _twin(document: SetDocument, facts: AthleteFacts, new: _New) -> Result | _Pending:
    """Compare a set with an earlier one of the same call and client_ref."""
    differing = differing_pointers(new.item.document, document, same_athlete=facts.id == new.athlete.id)
    if differing:
        return Result(Outcome.CONFLICT, document.client_ref, problem=conflict_of(differing))
    return _Pending(new, Outcome.SEEN)


def _standings_now(
    visit: Visit, seen: Sequence[FirstContent], changed: Sequence[Book], protocol: Protocol
) -> dict[str, bytes]:
    """Judge sets that were there already among all that their athletes now have, as JSON text by id of the set."""
    books = {book.athlete.id: book for book in changed}
    records: dict[str, tuple[SetRecord, Book]] = {}
    for athlete_id in sets.athletes_of(visit.connection, visit.club_id, [first.id for first in seen]):
        facts = None if athlete_id in books else athletes.with_id(visit.connection, visit.club_id, athlete_id)
        book = books[athlete_id] if facts is None else book_at(visit.connection, visit.club_id, facts)
        records |= {stored.id: (stored.record, book) for stored in book.sets}
    standings: dict[str, bytes] = {}
    for first in seen:
        record, book = records[first.id]
        outcome = judge_among(record, book.active, book.positions, protocol)
        standings[first.id] = orjson.dumps(standings_answer(outcome, record.quantity))
    return standings


def _judge_and_store(visit: Visit, new: Iterable[_New], protocol: Protocol) -> tuple[Book, ...]:
    """Judge new sets among all of their athletes' and store them; give the books with them in."""
    by_athlete: defaultdict[str, list[_New]] = defaultdict(list)
    for one in new:
        by_athlete[one.athlete.id].append(one)
    if not by_athlete:
        return ()
    bumped = athletes.bump(visit.connection, visit.club_id, list(by_athlete)) if visit.stores else {}
    books = tuple([_book_with(visit, of_athlete, bumped) for of_athlete in by_athlete.values()])
    for book in books:
        for one in by_athlete[book.athlete.id]:
            _judge(one, one.id if visit.stores else None, book, protocol)
    if visit.stores:
        rows = [_row(visit, one, book) for book in books for one in by_athlete[book.athlete.id]]
        sets.insert(visit.connection, visit.club_id, rows)
    return books


def _judge(new: _New, shown_id: str | None, book: Book, protocol: Protocol) -> None:
    """Write the answer of a new set; its standings are kept as text, to be written once for a batch too."""
    answer = judged_answer(shown_id, new.item.document.members["performed_at"], new.record, book, protocol)
    new.standings = orjson.dumps(answer["standings"])
    new.answer = orjson.dumps(answer | {"standings": orjson.Fragment(new.standings)})


def _book_with(visit: Visit, new: Sequence[_New], bumped: Mapping[str, Bumped]) -> Book:
    """Open the book of an athlete as it is with some new sets, at the athlete's next revision."""
    facts = new[0].athlete
    # A dry run begins no revision: its book is one that nobody keeps.
    revision, reload_revision = bumped[facts.id] if visit.stores else (facts.revision + 1, facts.reload_revision)
    if revision != facts.revision + 1:
        facts = replace(facts, revision=revision - 1, reload_revision=reload_revision)
    received_us = clock.microseconds(visit.now)
    stored = [StoredSet(one.id, one.record, SetStatus.ACTIVE, received_us) for one in new]
    return book_at(visit.connection, visit.club_id, facts).with_new(stored, replace(facts, revision=revision))


def _row(visit: Visit, new: _New, book: Book) -> NewSet:
    return NewSet(
        id=new.id,
        athlete_id=book.athlete.id,
        client_ref=new.record.client_ref,
        revision=book.revision,
        received_us=clock.microseconds(visit.now),
        key_id=new.item.key_id,
        record=pack_record(new.record),
        document=new.item.sent,
        answer=new.answer,
    )


def _finished(visit: Visit, one: Result | _Pending | _Stored, standings: Mapping[str, bytes]) -> Result:
    if isinstance(one, Result):
        return one
    if isinstance(one, _Stored):
        first = one.first
        return Result(Outcome.SEEN, one.client_ref, first.id, first.answer, standings[first.id])
    shown_id = one.new.id if visit.stores else None
    return Result(one.outcome, one.new.record.client_ref, shown_id, one.new.answer, one.new.standings)
