"""Pages of a table by opaque cursors that hold still while rows arrive.

A cursor names the place of the last row given, never a count of rows, so a row that arrives in
between neither repeats nor hides another. Every table is ordered by a key of numbers and texts
that is unique to its row.
"""

import base64
import binascii
import json
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from starlette.datastructures import URL

__all__ = ["CursorError", "Key", "Page", "link_to_next", "page_of"]

Key = tuple[int | float | str, ...]
"""Place of a row in its table; all keys of a table have the same types."""

Row = TypeVar("Row")


class CursorError(ValueError):
    """A cursor that this table never gave."""


@dataclass(frozen=True, slots=True)
class Page(Generic[Row]):
    """Some rows of a table in order, and the cursor of the next page if there is one."""

    rows: Sequence[Row]
    next_cursor: str | None


def page_of(rows: Sequence[Row], key: Callable[[Row], Key], *, view: str, limit: int, cursor: str | None) -> Page[Row]:
    """Return the page after ``cursor``.

    Parameters
    ----------
    rows : Sequence
        All rows of the table, in any order.
    key : Callable
        Place of a row; the table is ordered by it, ascending.
    view : str
        Name of the table; a cursor of another table is refused.
    limit : int
        Rows on a page.
    cursor : str or None
        From the page before.

    Raises
    ------
    CursorError
        When the cursor is not one of this table.
    """
    ordered = sorted(rows, key=key)
    start = 0
    if cursor is not None:
        after = _decoded(cursor, view, like=key(ordered[0]) if ordered else None)
        start = bisect_right(ordered, after, key=key)
    chosen = ordered[start : start + limit]
    more = start + limit < len(ordered)
    return Page(chosen, _encoded(view, key(chosen[-1])) if more else None)


def link_to_next(address: URL, cursor: str) -> str:
    """Return the ``Link`` header to the next page; every other parameter is kept as it was asked."""
    return f'<{address.include_query_params(cursor=cursor)}>; rel="next"'


def _encoded(view: str, key: Key) -> str:
    text = json.dumps([view, *key], separators=(",", ":"), ensure_ascii=False)
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _decoded(cursor: str, view: str, *, like: Key | None) -> Key:
    try:
        padded = cursor + "=" * (-len(cursor) % 4)
        content = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
    except (binascii.Error, ValueError, RecursionError) as error:
        raise CursorError("The cursor is not one that this table gave.") from error
    if not isinstance(content, list) or content[:1] != [view]:
        raise CursorError("The cursor is not one that this table gave.")
    key = tuple(content[1:])
    if like is not None and [type(part) for part in key] != [type(part) for part in like]:
        raise CursorError("The cursor is not one that this table gave.")
    return key
