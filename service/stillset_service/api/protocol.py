"""The protocol of a club: read, replaced, previewed, and its versions."""

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from stillset_core.errors import ProtocolRefused
from stillset_core.protocol import Protocol, parse_protocol
from stillset_service import clock
from stillset_service.api.bodies import described, flag, json_object
from stillset_service.api.resources import Manager, Paged, Reader, json_answer, no_parameters, page_answer, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.books import open_books
from stillset_service.preview import preview_of
from stillset_service.problems import Unprocessable
from stillset_service.store import audit, protocols
from stillset_service.store.protocols import SavedProtocol
from stillset_service.views.spelling import Json

__all__ = ["router"]

router = APIRouter(prefix="/v1/protocol", tags=["club"])
PREVIEW = {
    "name": "preview",
    "in": "query",
    "description": "Answer what would change and store nothing.",
    "schema": {"type": "boolean", "default": False},
}


@router.get(
    "", summary="Read the protocol", dependencies=[Depends(no_parameters)], responses=answers(OBJECT) | problems(422)
)
def read_protocol(request: Request, access: Reader) -> Response:
    """Give the protocol that judges all history."""
    with store_of(request).read() as connection:
        return json_answer(_shown(protocols.in_force(connection, access.club_id)))


@router.put(
    "",
    summary="Replace or preview the protocol",
    openapi_extra=described(Protocol.model_json_schema()) | {"parameters": [PREVIEW]},
    responses=answers(OBJECT) | problems(413, 415, 422, 507),
)
async def put_protocol(request: Request, access: Manager) -> Response:
    """Put settings in force, those left out at their default; with ``preview=true`` say what that would change."""
    previewed = flag(request, "preview")
    try:
        proposed = parse_protocol(await json_object(request))
    except ProtocolRefused as error:
        raise Unprocessable("The settings have faults.", error.faults) from None

    def preview() -> Json:
        with store_of(request).read() as connection:
            saved = protocols.in_force(connection, access.club_id)
            return preview_of(open_books(connection, access.club_id), saved, proposed)

    def save() -> Json:
        with store_of(request).write() as connection:
            saved = protocols.save(connection, access.club_id, proposed, access.key_id)
            detail: Json = {"version": saved.version}
            audit.note(connection, (access.club_id, access.key_id), "protocol.put", detail)
        return _shown(saved)

    return json_answer(await run_in_threadpool(preview if previewed else save))


@router.get("/versions", summary="List the versions of the protocol", responses=answers(OBJECT) | problems(422))
def list_versions(request: Request, access: Reader, query: Paged) -> Response:
    """List every version that was saved, oldest first."""
    with store_of(request).read() as connection:
        rows = [_shown(saved) for saved in protocols.versions(connection, access.club_id)]
    return page_answer(request, query, rows, by=("version",))


def _shown(saved: SavedProtocol) -> Json:
    return {
        "version": saved.version,
        "saved_at": clock.spelled(saved.saved_us),
        "settings": saved.protocol.settings(),
    }
