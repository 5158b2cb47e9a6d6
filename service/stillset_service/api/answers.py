"""One way to answer every reading view: format, entity tag, page, and the headers that say so."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC
from importlib.metadata import version
from typing import Any, Generic, TypeVar

import orjson
from fastapi import Request
from fastapi.responses import Response

from stillset_service import clock
from stillset_service.api.conditional import entity_tag, is_current
from stillset_service.api.formats import Column, Format, NotAcceptableError, body_of, negotiate
from stillset_service.api.paging import CursorError, Key, Page, link_to_next, page_of
from stillset_service.api.routes import OBJECT, problems
from stillset_service.api.windows import TableQuery, ViewQuery, repeated
from stillset_service.problems import ParameterFault, Problem, Unprocessable
from stillset_service.views.spelling import Json

__all__ = ["Basis", "Table", "answer_object", "answer_table", "documented", "once_each"]

Row = TypeVar("Row")
_VERSION = version("stillset")
"""Part of every entity tag: another version may answer the same data otherwise."""


@dataclass(frozen=True, slots=True)
class Table(Generic[Row]):
    """A table of the API.

    Attributes
    ----------
    name : str
        Its last part of the path; a cursor is good for the table of this name only.
    columns : tuple of Column
        What flat formats hold.
    key : Callable
        Place of a row; the table is ordered by it, ascending.
    """

    name: str
    columns: tuple[Column, ...]
    key: Callable[[Row], Key]


@dataclass(frozen=True, slots=True)
class Basis:
    """What an answer is made of: the request, its query, and the revisions of all that was read."""

    request: Request
    query: ViewQuery
    revisions: tuple[object, ...]

    @property
    def day(self) -> str | None:
        """The UTC day that stands for the moment of knowledge when none was asked for."""
        return None if self.query.as_of is not None else clock.now().astimezone(UTC).date().isoformat()


def answer_table(
    basis: Basis,
    query: TableQuery,
    table: Table[Row],
    rows: Callable[[], Sequence[Row]],
    shape: Callable[[Sequence[Row]], list[Json]],
    beside: Callable[[], Json] | None = None,
) -> Response:
    """Answer one page of a table.

    Parameters
    ----------
    basis, query : Basis, TableQuery
        What was asked for.
    table : Table
        Its name, columns and order.
    rows : Callable
        Gives all rows of the window, in any order; called only if the client's copy is no longer good.
    shape : Callable
        Makes the rows of the page ready for JSON.
    beside : Callable or None
        Gives members that stand beside the items in JSON; flat formats have no place for them.
    """
    wanted, tag, unchanged = _begin(basis)
    if unchanged:
        return unchanged
    page = _page(query, table, () if query.holds_nothing else rows())
    rows_shown = shape(page.rows)
    if beside is not None and wanted is Format.JSON:
        body = orjson.dumps({"items": rows_shown, **beside()})
    else:
        body = body_of(rows_shown, table.columns, wanted)
    answer = Response(body, media_type=_media(wanted))
    if page.next_cursor is not None:
        answer.headers["Link"] = link_to_next(basis.request.url, page.next_cursor)
    return _finished(answer, tag)


def answer_object(
    basis: Basis, body: Callable[[], Json], columns: tuple[Column, ...], rows: Callable[[Json], Iterable[Json]]
) -> Response:
    """Answer an object that is no table in JSON, and its content as rows in the flat formats."""
    wanted, tag, unchanged = _begin(basis)
    if unchanged:
        return unchanged
    content = body()
    flat = orjson.dumps(content) if wanted is Format.JSON else body_of(list(rows(content)), columns, wanted)
    return _finished(Response(flat, media_type=_media(wanted)), tag)


def documented() -> dict[int | str, dict[str, Any]]:
    """Document the formats and problems of a reading view, for the OpenAPI document."""
    documents = problems(404, 406, 422)
    formats = {media.value: {"schema": {"type": "string"}} for media in Format} | {
        Format.JSON.value: {"schema": OBJECT}
    }
    documents[200] = {"description": "The view in the format that was accepted.", "content": formats}
    documents[304] = {"description": "The client's copy is still good."}
    return documents


async def once_each(request: Request) -> None:
    """Refuse a query parameter that is given twice: which one is meant is unclear."""
    names = repeated([name for name, _ in request.query_params.multi_items()])
    if names:
        faults = [ParameterFault(name, "repeated", "The parameter is given more than once.") for name in names]
        raise Unprocessable("A query parameter is given more than once.", faults)


def _begin(basis: Basis) -> tuple[Format, str, Response | None]:
    headers = basis.request.headers
    accepted = headers.getlist("accept")
    try:
        wanted = negotiate(", ".join(accepted) if accepted else None)
    except NotAcceptableError as error:
        offered = ", ".join(Format)
        raise Problem(f"This is given as {offered}.", code="not-acceptable", status=406) from error
    url = basis.request.url
    tag = entity_tag((_VERSION, url.path, url.query, wanted, basis.day, *basis.revisions))
    conditions = headers.getlist("if-none-match")
    if is_current(", ".join(conditions) if conditions else None, tag):
        return wanted, tag, _finished(Response(status_code=304), tag)
    return wanted, tag, None


def _page(query: TableQuery, table: Table[Row], rows: Sequence[Row]) -> Page[Row]:
    try:
        return page_of(rows, table.key, view=table.name, limit=query.limit, cursor=query.cursor)
    except CursorError as error:
        raise Unprocessable(str(error), [ParameterFault("cursor", "unknown-cursor", str(error))]) from error


def _media(wanted: Format) -> str:
    return "text/csv; charset=utf-8; header=present" if wanted is Format.CSV else wanted.value


def _finished(answer: Response, tag: str) -> Response:
    answer.headers["ETag"] = tag
    answer.headers["Vary"] = "Accept"
    # Data about health: only the client that asked may keep it, and it asks again before each use.
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer
