"""The record of changes of a club."""

import orjson
from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillset_service import clock
from stillset_service.api.resources import Paged, Reader, page_answer, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.store import audit

__all__ = ["router"]

router = APIRouter(prefix="/v1/audit", tags=["club"])


@router.get("", summary="Read the record of changes", responses=answers(OBJECT) | problems(422))
def list_changes(request: Request, access: Reader, query: Paged) -> Response:
    """List who changed what and when, oldest first."""
    with store_of(request).read() as connection:
        rows = [
            {
                "id": entry.id,
                "at": clock.spelled(entry.at_us),
                "key": entry.key_id,
                "action": entry.action,
                "athlete_id": entry.athlete_id,
                "detail": orjson.loads(entry.detail),
            }
            for entry in audit.listed(connection, access.club_id)
        ]
    return page_answer(request, query, rows, by=("id",))
