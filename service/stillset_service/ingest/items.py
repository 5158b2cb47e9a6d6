"""One set on its way in: read, or refused, before the store is asked anything."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import orjson

from stillset_core.document import SetDocument, parse_set
from stillset_core.errors import DocumentRefused
from stillset_core.intake import to_record
from stillset_core.records import SetRecord
from stillset_service.problems import Problem, Unprocessable
from stillset_service.settings import Settings

__all__ = ["Item", "Outcome", "Refused", "Result", "is_oversized", "read_item"]


@dataclass(frozen=True, slots=True)
class Item:
    """A set that keeps the contract.

    Attributes
    ----------
    sent : bytes
        JSON text.
    document : SetDocument
    record : SetRecord
        In SI, under the name that the client gave the athlete.
    key_id : str
        The key that sent it.
    """

    sent: bytes
    document: SetDocument
    record: SetRecord
    key_id: str


@dataclass(frozen=True, slots=True)
class Refused:
    """A set that does not keep the contract; ``client_ref`` where it could be read at all."""

    client_ref: str | None
    problem: Problem


class Outcome(StrEnum):
    """What became of a set."""

    STORED = "stored"
    SEEN = "seen"
    CONFLICT = "conflict"
    INVALID = "invalid"


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a set: its answer, and the standings in it, as JSON text; or the problem with it."""

    outcome: Outcome
    client_ref: str | None
    id: str | None = None
    answer: bytes | None = None
    standings: bytes | None = None
    problem: Problem | None = None


def read_item(sent: bytes, now: datetime, key_id: str) -> Item | Refused:
    """Read one set from JSON text; ``now`` bounds how far ahead it may start."""
    try:
        document = parse_set(sent, now=now)
        return Item(sent, document, to_record(document, athlete_ref=document.athlete), key_id)
    except DocumentRefused as error:
        return Refused(_client_ref(sent), Unprocessable("The set has faults.", error.faults))


def is_oversized(item: Item, settings: Settings) -> bool:
    """Whether a set is larger than a set without, or with, a trace may be."""
    size = len(item.sent)
    has_trace = item.document.members.get("trace") is not None
    return size > (settings.max_trace_set_bytes if has_trace else settings.max_set_bytes)


def _client_ref(sent: bytes) -> str | None:
    """Read the client_ref of a set with faults, if it can be read at all."""
    try:
        value = orjson.loads(sent)
    except orjson.JSONDecodeError:
        return None
    ref = value.get("client_ref") if isinstance(value, dict) else None
    return ref if isinstance(ref, str) else None
