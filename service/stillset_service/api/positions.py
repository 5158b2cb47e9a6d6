"""Standard positions of an athlete."""

from typing import Annotated

import orjson
from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from stillset_service import clock
from stillset_service.api.bodies import body_of, described
from stillset_service.api.models import StandardPositionBody
from stillset_service.api.resources import (
    Manager,
    Paged,
    Reader,
    athlete_to_change,
    found_athlete,
    json_answer,
    no_parameters,
    page_answer,
    store_of,
)
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.store import audit, positions
from stillset_service.store.positions import SavedPosition
from stillset_service.views.spelling import Json

__all__ = ["router"]

router = APIRouter(prefix="/v1/athletes/{ref}/standard-position", tags=["club"])


@router.put(
    "",
    summary="Put a standard position",
    dependencies=[Depends(no_parameters)],
    openapi_extra=described(StandardPositionBody.model_json_schema()),
    responses=answers(OBJECT) | problems(404, 413, 415, 422, 507),
)
def put_position(
    request: Request,
    access: Manager,
    ref: str,
    body: Annotated[StandardPositionBody, Depends(body_of(StandardPositionBody))],
) -> Response:
    """Say in which position an athlete's readings are comparable from a date on; all sets are judged anew."""
    with store_of(request).write() as connection:
        facts = athlete_to_change(connection, access.club_id, ref)
        entry = body.model_dump(mode="json", exclude_none=True)
        document = orjson.dumps(entry).decode()
        saved = positions.put(connection, access.club_id, facts.id, body.valid_from.isoformat(), document)
        audit.note(connection, (access.club_id, access.key_id), "standard-position.put", entry, facts.id)
    return json_answer(_shown(saved))


@router.get("", summary="List the standard positions", responses=answers(OBJECT) | problems(404, 422))
def list_positions(request: Request, access: Reader, ref: str, query: Paged) -> Response:
    """List the standard positions of an athlete, earliest first."""
    with store_of(request).read() as connection:
        facts = found_athlete(connection, access.club_id, ref)
        rows = [_shown(saved) for saved in positions.listed(connection, access.club_id, facts.id)]
    return page_answer(request, query, rows, by=("valid_from",))


def _shown(saved: SavedPosition) -> Json:
    empty: Json = {"position": None, "instrument_kind": None, "valid_from": saved.valid_from, "measured_by": None}
    stated: Json = orjson.loads(saved.document)
    return empty | stated | {"saved_at": clock.spelled(saved.saved_us)}
