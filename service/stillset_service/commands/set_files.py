"""A file of sets, item by item, each exactly as it was written."""

import gzip
import json
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from stillset_service.commands.console import CommandError

__all__ = ["Item", "batches", "items_of", "read_items"]

BATCH_SETS = 500
BATCH_BYTES = 4 * 1024 * 1024
"""Sets and bytes of one request: small enough to show progress, large enough to be fast."""

_GZIP = b"\x1f\x8b"
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Item:
    """One set of a file.

    Attributes
    ----------
    place : int
        Line of an NDJSON file, or place in a JSON array, both from 1.
    text : bytes
        As written, on one line.
    """

    place: int
    text: bytes


def read_items(path: Path, stdin: BinaryIO) -> list[Item]:
    """Read the sets of a file, plain or gzip; ``-`` is the standard input.

    Raises
    ------
    CommandError
        When the file cannot be read, or is neither a JSON array nor NDJSON.
    """
    try:
        content = stdin.read() if str(path) == "-" else path.read_bytes()
        if content.startswith(_GZIP):
            content = gzip.decompress(content)
    except (OSError, EOFError, zlib.error) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CommandError(f"{path}: cannot be read: {reason}") from error
    items = items_of(content.removeprefix(_BYTE_ORDER_MARK))
    if not items:
        raise CommandError(f"{path}: holds no sets.")
    return items


def items_of(content: bytes) -> list[Item]:
    """Part a JSON array, one JSON object, or NDJSON into its sets.

    A broken line of NDJSON is still an item, for the service to name; a broken array has no items
    to tell apart and is refused.
    """
    if content.lstrip()[:1] == b"[":
        return list(_array(content))
    if _is_one_object(content):
        return [Item(1, _on_one_line(content))]
    lines = enumerate(content.split(b"\n"), start=1)
    return [Item(number, line.strip()) for number, line in lines if line.strip()]


def batches(items: list[Item]) -> Iterator[list[Item]]:
    """Group items into requests."""
    batch: list[Item] = []
    size = 0
    for item in items:
        if batch and (len(batch) == BATCH_SETS or size + len(item.text) > BATCH_BYTES):
            yield batch
            batch, size = [], 0
        batch.append(item)
        size += len(item.text)
    if batch:
        yield batch


def _array(content: bytes) -> Iterator[Item]:
    text = _decoded(content)
    decoder = json.JSONDecoder()
    at = _skip(text, text.index("[") + 1)
    place = 0
    while at < len(text) and text[at] != "]":
        place += 1
        try:
            _, end = decoder.raw_decode(text, at)
        except (json.JSONDecodeError, RecursionError) as error:
            raise CommandError(f"The JSON array breaks off in item {place}: {error}.") from error
        yield Item(place, _on_one_line(text[at:end].encode()))
        at = _skip(text, end)
        if text[at : at + 1] == ",":
            at = _skip(text, at + 1)
        elif text[at : at + 1] != "]":
            raise CommandError(f"The JSON array breaks off after item {place}.")
    if text[at:].strip() != "]":
        raise CommandError(f"The JSON array breaks off after item {place}.")


def _is_one_object(content: bytes) -> bool:
    """Whether the whole is one JSON value over several lines rather than one on each line."""
    if content.strip().count(b"\n") == 0:
        return False
    try:
        json.loads(content)
    except (ValueError, RecursionError):
        return False
    return True


def _decoded(content: bytes) -> str:
    try:
        return content.decode()
    except UnicodeDecodeError as error:
        raise CommandError(f"The file is not UTF-8: {error.reason} at byte {error.start}.") from error


def _skip(text: str, at: int) -> int:
    while at < len(text) and text[at] in " \t\r\n":
        at += 1
    return at


def _on_one_line(text: bytes) -> bytes:
    """Put a JSON value on one line: outside its strings a line end is white space, inside it cannot stand."""
    return text.strip().replace(b"\r", b" ").replace(b"\n", b" ")
