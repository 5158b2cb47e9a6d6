"""A batch of sets: cut into the text of each set, so that a fault of one leaves the others alone."""

import json
import re
from collections.abc import Iterator
from datetime import datetime

from stillset_core.errors import Fault
from stillset_service.ingest.items import Item, Refused, is_oversized, read_item
from stillset_service.problems import TooLarge, Unprocessable
from stillset_service.settings import Settings

__all__ = ["lines_of", "read_batch_item", "texts_of"]

_LINE = re.compile(rb"[^ \t\r\n][^\n]*")
_WHITE_SPACE = re.compile(r"[ \t\n\r]*")
# Finds where a value ends; what it holds is judged when the set is read.
_SCANNER = json.JSONDecoder(parse_int=float)


def lines_of(body: bytes) -> Iterator[bytes]:
    """Give the lines of an NDJSON body that are not blank, one at a time: millions of blank ones cost nothing."""
    for line in _LINE.finditer(body):
        yield line[0].rstrip(b" \t\r")


def texts_of(body: bytes) -> Iterator[bytes]:
    """Give the text of each item of a JSON array.

    Raises
    ------
    Unprocessable
        If the body is not a JSON array.
    """
    try:
        yield from _cut(body.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise _malformed("not-utf-8", f"The body is not UTF-8: byte {error.start} cannot be read.") from None
    except json.JSONDecodeError as error:
        detail = f"The body is not a JSON array: {error.msg} at line {error.lineno}, column {error.colno}."
        raise _malformed("not-json", detail) from None
    except RecursionError:
        raise _malformed("too-deep", "The body is nested too deeply to be read.") from None


def _cut(text: str) -> Iterator[bytes]:
    at = _after_space(text, 0)
    if text[at : at + 1] != "[":
        raise json.JSONDecodeError("an array must begin with [", text, at)
    at = _after_space(text, at + 1)
    if text[at : at + 1] == "]":
        _expect_end(text, at + 1)
        return
    while True:
        _, end = _SCANNER.raw_decode(text, at)
        yield text[at:end].encode()
        at = _after_space(text, end)
        if text[at : at + 1] == "]":
            _expect_end(text, at + 1)
            return
        if text[at : at + 1] != ",":
            raise json.JSONDecodeError("expected , or ]", text, at)
        at = _after_space(text, at + 1)


def read_batch_item(sent: bytes, now: datetime, key_id: str, settings: Settings) -> Item | Refused:
    """Read one set of a batch, within its own limit of size."""
    if len(sent) <= settings.max_trace_set_bytes:
        item = read_item(sent, now, key_id)
        if isinstance(item, Refused) or not is_oversized(item, settings):
            return item
    detail = f"The set has {len(sent)} bytes, more than one set may have."
    return Refused(None, TooLarge(detail, [Fault("", "too-large", detail)]))


def _after_space(text: str, at: int) -> int:
    found = _WHITE_SPACE.match(text, at)
    return at if found is None else found.end()


def _expect_end(text: str, at: int) -> None:
    at = _after_space(text, at)
    if at != len(text):
        raise json.JSONDecodeError("something follows the array", text, at)


def _malformed(code: str, detail: str) -> Unprocessable:
    return Unprocessable(detail, [Fault("", code, detail)])
