"""Corrections and withdrawals: new facts with an author and a reason; the first version stays."""

import json
from dataclasses import replace

from sqlalchemy import Connection

from stillset_core.content import differing_pointers, merge_patch
from stillset_core.decoding import decode_json
from stillset_core.document import SetDocument, parse_accepted_set, parse_set_value
from stillset_core.errors import DocumentRefused, Fault
from stillset_core.intake import to_record
from stillset_service import clock
from stillset_service.auth.scopes import Access
from stillset_service.books import Book, SetStatus, StoredSet, book_at
from stillset_service.ingest.answer import judged_answer
from stillset_service.problems import Conflict, NotFound, Unprocessable
from stillset_service.store import athletes, audit, clubs, protocols, sets
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.packing import pack_record
from stillset_service.store.sets import Change, NewContent, StoredContent

__all__ = ["amend", "withdraw"]

Json = dict[str, object]


def amend(connection: Connection, access: Access, set_id: str, reason: str, changes: Json) -> Json:
    """Put the content in force that a merge patch makes of a set; give the judged set.

    Raises
    ------
    NotFound, Conflict, Unprocessable
        No such set; withdrawn; the result is no set, or no other one.
    """
    stored = _found(connection, access, set_id)
    if stored.status == SetStatus.WITHDRAWN:
        raise Conflict("A withdrawn set cannot be amended.", code="withdrawn")
    document = _amended(stored, changes)
    owner = _owner(connection, access, stored) if "athlete" not in changes else _named(connection, access, document)
    _refuse_no_change(stored, document, owner)
    record = to_record(document, athlete_ref=owner.ref)
    if owner.id != stored.athlete_id:
        athletes.bump(connection, access.club_id, [stored.athlete_id], reload=True)
        _note(connection, access, "set.amend", stored, reason)
    changed = StoredSet(set_id, record, SetStatus.AMENDED, stored.received_us)
    book = _next_book(connection, access, owner, changed)
    sent = json.dumps(document.verbatim(), ensure_ascii=False).encode()
    content = NewContent(set_id, owner.id, book.revision, pack_record(record), sent)
    sets.amend(connection, access.club_id, content, _change("amend", stored, access, reason))
    _note(connection, access, "set.amend", replace(stored, athlete_id=owner.id), reason)
    return _answer(connection, access, book, changed, document)


def withdraw(connection: Connection, access: Access, set_id: str, reason: str) -> Json:
    """Withdraw a set, which stays on record and is nowhere else; again changes nothing. Give the set as it was judged.

    Raises
    ------
    NotFound
        No such set.
    """
    stored = _found(connection, access, set_id)
    document = parse_accepted_set(stored.document)
    owner = _owner(connection, access, stored)
    record = to_record(document, athlete_ref=owner.ref)
    changed = StoredSet(set_id, record, SetStatus.WITHDRAWN, stored.received_us)
    if stored.status == SetStatus.WITHDRAWN:
        return _answer(connection, access, book_at(connection, access.club_id, owner), changed, document)
    book = _next_book(connection, access, owner, changed)
    sets.withdraw(connection, access.club_id, set_id, book.revision, _change("withdraw", stored, access, reason))
    _note(connection, access, "set.withdraw", stored, reason)
    return _answer(connection, access, book, changed, document)


def _found(connection: Connection, access: Access, set_id: str) -> StoredContent:
    clubs.take_turns(connection, access.club_id)
    stored = sets.find(connection, access.club_id, set_id, to_change=True)
    if stored is None:
        raise NotFound(f"The club has no set {set_id!r}.")
    return stored


def _amended(stored: StoredContent, changes: Json) -> SetDocument:
    """Apply the changes to the content in force and read the result as a new set; faults point into ``changes``."""
    try:
        document = parse_set_value(merge_patch(decode_json(stored.document), changes), now=clock.now())
    except DocumentRefused as error:
        faults = [Fault(f"/changes{fault.pointer}", fault.code, fault.detail) for fault in error.faults]
        raise Unprocessable("The amended set has faults.", faults) from None
    if document.client_ref != stored.client_ref:
        detail = "The client_ref of a set cannot change."
        raise Unprocessable(detail, [Fault("/changes/client_ref", "immutable", detail)])
    return document


def _owner(connection: Connection, access: Access, stored: StoredContent) -> AthleteFacts:
    owner = athletes.with_id(connection, access.club_id, stored.athlete_id)
    if owner is None:
        raise NotFound("The athlete is not there any more.")
    return owner


def _named(connection: Connection, access: Access, document: SetDocument) -> AthleteFacts:
    owner = athletes.find(connection, access.club_id, document.athlete)
    if owner is None:
        detail = f"The club has no athlete {document.athlete!r}."
        fault = Fault("/changes/athlete", "unknown-athlete", detail)
        raise Unprocessable(detail, [fault], code="unknown-athlete")
    return owner


def _refuse_no_change(stored: StoredContent, document: SetDocument, owner: AthleteFacts) -> None:
    before = parse_accepted_set(stored.document)
    if not differing_pointers(before, document, same_athlete=owner.id == stored.athlete_id):
        detail = "The changes change nothing."
        raise Unprocessable(detail, [Fault("/changes", "no-change", detail)], code="no-change")


def _next_book(connection: Connection, access: Access, owner: AthleteFacts, changed: StoredSet) -> Book:
    """Open the athlete's book at the next revision, in which a set is changed."""
    revision, reload_revision = athletes.bump(connection, access.club_id, [owner.id])[owner.id]
    facts = replace(owner, revision=revision - 1, reload_revision=reload_revision)
    return book_at(connection, access.club_id, facts).with_changed([changed], replace(facts, revision=revision))


def _change(kind: str, stored: StoredContent, access: Access, reason: str) -> Change:
    return Change(kind, reason, access.key_id, clock.microseconds(clock.now()), stored)


def _note(connection: Connection, access: Access, action: str, stored: StoredContent, reason: str) -> None:
    detail: Json = {"set": stored.id, "reason": reason}
    audit.note(connection, (access.club_id, access.key_id), action, detail, stored.athlete_id)


def _answer(connection: Connection, access: Access, book: Book, changed: StoredSet, document: SetDocument) -> Json:
    protocol = protocols.in_force(connection, access.club_id).protocol
    answer = judged_answer(changed.id, document.members["performed_at"], changed.record, book, protocol)
    return answer | {"status": changed.status.value}
