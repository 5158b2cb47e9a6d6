"""Reading one set: JSON text or a decoded value → a document that keeps the API contract, or every fault in it."""

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import islice
from typing import Final, cast

from pydantic import TypeAdapter, ValidationError

from stillset_core.decoding import decode_json, is_plain, text_faults
from stillset_core.errors import MAX_FAULTS, DocumentRefused, Fault
from stillset_core.faults import faults_of
from stillset_core.members import SetMembers
from stillset_core.relations import relation_faults
from stillset_core.rfc3339 import parse_instant

__all__ = ["SetDocument", "parse_accepted_set", "parse_set", "parse_set_value"]

Json = dict[str, object]

_MEMBERS: Final = TypeAdapter(SetMembers)
_FROM_JSON: Final = _MEMBERS.validate_json
_FROM_PYTHON: Final = _MEMBERS.validate_python
_READ_ANYTHING: Final = TypeAdapter(Json).validate_json
_MOST_BRACKETS: Final = 20_000
"""More are refused before they are read: a set has some 200, and each takes hundreds of bytes of memory once read."""
_LAST_INSTANT: Final = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class SetDocument:
    """A set that keeps the contract.

    Attributes
    ----------
    members : SetMembers
        The members as validated: every number a float, everything else as sent. Not to be changed.
    """

    members: SetMembers
    _sent: bytes | Json = field(repr=False, compare=False)

    @property
    def client_ref(self) -> str:
        """The client's own id of this set."""
        return self.members["client_ref"]

    @property
    def athlete(self) -> str:
        """The athlete as named by the client: a ref, or an id of the service."""
        return self.members["athlete"]

    @property
    def performed_at(self) -> datetime:
        """Start of the set, in the offset that was sent."""
        return parse_instant(self.members["performed_at"])

    def verbatim(self) -> Json:
        """Give the members as they were sent, nulls and whole numbers included; a new mapping at every call."""
        return _READ_ANYTHING(self._sent) if isinstance(self._sent, bytes) else deepcopy(self._sent)


def parse_set(body: bytes | str, *, now: datetime) -> SetDocument:
    """Read one set from JSON text.

    Parameters
    ----------
    body : bytes or str
        UTF-8 JSON.
    now : datetime
        Aware; a set that starts more than 24 h later is refused.

    Raises
    ------
    DocumentRefused
        With every fault that was found, at most 100.
    """
    sent = body if isinstance(body, bytes) else body.encode("utf-8", "surrogatepass")
    if len(sent) > _MOST_BRACKETS and sent.count(b"[") + sent.count(b"{") > _MOST_BRACKETS:
        detail = f"The body has more than {_MOST_BRACKETS} lists and objects, many times what a set can hold."
        raise DocumentRefused([Fault("", "too-many-parts", detail)])
    try:
        members = _FROM_JSON(sent)
    except ValidationError:
        return parse_set_value(decode_json(sent), now=now)
    if not is_plain(sent, _member_count(members), members["performed_at"].count(":")):
        _refuse_if(text_faults(decode_json(sent)))
    _refuse_if(relation_faults(members, now))
    return SetDocument(members, sent)


def parse_accepted_set(body: bytes) -> SetDocument:
    """Read a set that was taken in before: whether it started too far ahead was asked then, by the clock of then."""
    return parse_set(body, now=_LAST_INSTANT)


def parse_set_value(value: object, *, now: datetime) -> SetDocument:
    """Read one set from a decoded JSON value, as :func:`parse_set` does from text.

    The value is kept by the document for reading back: it must not be changed afterwards.
    """
    if not isinstance(value, dict):
        raise DocumentRefused([Fault("", "not-an-object", "A set must be a JSON object.")])
    _refuse_if(text_faults(value))
    try:
        members = _FROM_PYTHON(value)
    except ValidationError as error:
        details = error.errors(include_url=False)
        broken = {detail["loc"][:2] for detail in details}
        readable = cast(SetMembers, value)  # outside what is broken it has been validated
        raise DocumentRefused([*faults_of(details), *relation_faults(readable, now, broken)]) from None
    _refuse_if(relation_faults(members, now))
    return SetDocument(members, value)


def _refuse_if(faults: Iterator[Fault]) -> None:
    found = list(islice(faults, MAX_FAULTS))
    if found:
        raise DocumentRefused(found)


def _member_count(members: SetMembers) -> int:
    """Members of all objects of a set."""
    count = len(members) + len(members["position"]) + len(members["instrument"])
    count += len(members.get("pain") or ()) + len(members.get("trace") or ())
    for rep in members.get("reps") or ():
        count += len(rep) + len(rep.get("left") or ()) + len(rep.get("right") or ())
    return count
