"""What the routes that manage a club share: who asks, answers in JSON, and finding an athlete or refusing."""

from collections.abc import Sequence
from typing import Annotated

import orjson
from fastapi import Depends, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from sqlalchemy import Connection

from stillset_core.errors import Fault
from stillset_service.api.access import require
from stillset_service.api.paging import CursorError, Key, link_to_next, page_of
from stillset_service.api.windows import DEFAULT_LIMIT, MAX_LIMIT, whole_number
from stillset_service.auth.scopes import Access
from stillset_service.problems import NotFound, ParameterFault, Unprocessable
from stillset_service.store import athletes
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.engine import Store
from stillset_service.views.spelling import Json

__all__ = [
    "ListQuery",
    "Manager",
    "Paged",
    "Reader",
    "athlete_to_change",
    "found_athlete",
    "immutable_ref",
    "json_answer",
    "no_parameters",
    "page_answer",
    "store_of",
]

Manager = Annotated[Access, Depends(require("manage"))]
"""The access of a request that may change things."""
Reader = Annotated[Access, Depends(require("read"))]
"""The access of a request that may read."""


def json_answer(content: object, status: int = 200) -> Response:
    """Answer in JSON."""
    return Response(orjson.dumps(content), status_code=status, media_type="application/json")


def store_of(request: Request) -> Store:
    """Give the store of the application."""
    store: Store = request.app.state.store
    return store


def found_athlete(connection: Connection, club_id: str, ref_or_id: str) -> AthleteFacts:
    """Find an athlete of a club, or refuse with 404."""
    facts = athletes.find(connection, club_id, ref_or_id)
    if facts is None:
        raise NotFound(f"The club has no athlete {ref_or_id!r}.")
    return facts


def athlete_to_change(connection: Connection, club_id: str, ref_or_id: str) -> AthleteFacts:
    """Find an athlete as ``found_athlete`` does and begin the next revision, so that nobody else changes them now."""
    facts = found_athlete(connection, club_id, ref_or_id)
    if not athletes.bump(connection, club_id, [facts.id]):
        raise NotFound("The athlete is not there any more.")
    return facts


def immutable_ref() -> Unprocessable:
    """Refuse another ref: it is what clients know things by, and what they repeat in retries."""
    detail = "A ref cannot change."
    return Unprocessable(detail, [Fault("/ref", "immutable", detail)])


class ListQuery(BaseModel):
    """A page of a list."""

    model_config = ConfigDict(extra="forbid")

    limit: Annotated[int, Field(ge=1, le=MAX_LIMIT), BeforeValidator(whole_number)] = DEFAULT_LIMIT
    cursor: Annotated[str | None, Field(description="From the link to the next page.", max_length=2000)] = None


Paged = Annotated[ListQuery, Query()]


def page_answer(request: Request, query: ListQuery, rows: Sequence[Json], by: tuple[str, ...]) -> Response:
    """Answer one page of a list, ordered by members that each row has to itself."""
    try:
        page = page_of(rows, lambda row: _key(row, by), view=request.url.path, limit=query.limit, cursor=query.cursor)
    except CursorError as error:
        raise Unprocessable(str(error), [ParameterFault("cursor", "unknown-cursor", str(error))]) from error
    answer = json_answer({"items": page.rows})
    if page.next_cursor is not None:
        answer.headers["Link"] = link_to_next(request.url, page.next_cursor)
    return answer


async def no_parameters(request: Request) -> None:
    """Refuse every query parameter, for routes that take none."""
    names: Sequence[str] = list(dict.fromkeys(request.query_params))
    if names:
        faults = [ParameterFault(name, "unknown-parameter", f"{name!r} is no parameter here.") for name in names]
        raise Unprocessable("The query has unknown parameters.", faults)


def _key(row: Json, by: tuple[str, ...]) -> Key:
    values = [row[name] for name in by]
    return tuple(value if isinstance(value, int) else str(value) for value in values)
