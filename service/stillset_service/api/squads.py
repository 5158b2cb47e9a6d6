"""Squads: made, listed, read, renamed."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from stillset_core.errors import Fault
from stillset_service.api.bodies import body_of, described
from stillset_service.api.models import SquadBody, SquadPatch
from stillset_service.api.resources import (
    Manager,
    Paged,
    Reader,
    immutable_ref,
    json_answer,
    no_parameters,
    page_answer,
    store_of,
)
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.problems import Conflict, NotFound
from stillset_service.store import audit, squads
from stillset_service.store.squads import SquadFacts
from stillset_service.views.spelling import Json

__all__ = ["router"]

router = APIRouter(prefix="/v1/squads", tags=["club"])
ALONE = [Depends(no_parameters)]


@router.post(
    "",
    status_code=201,
    summary="Make a squad",
    dependencies=ALONE,
    openapi_extra=described(SquadBody.model_json_schema()),
    responses=answers(OBJECT, 201) | problems(409, 413, 415, 422, 507),
)
def make_squad(request: Request, access: Manager, body: Annotated[SquadBody, Depends(body_of(SquadBody))]) -> Response:
    """Make a squad of this club."""
    with store_of(request).write() as connection:
        squad = squads.add(connection, access.club_id, body.ref, body.name or body.ref)
        if squad is None:
            detail = f"The club has a squad {body.ref!r} already."
            raise Conflict(detail, [Fault("/ref", "taken", detail)], code="ref-taken")
        audit.note(connection, (access.club_id, access.key_id), "squad.make", {"ref": body.ref, "name": squad.name})
    return json_answer(_shown(squad), 201)


@router.get("", summary="List the squads", responses=answers(OBJECT) | problems(422))
def list_squads(request: Request, access: Reader, query: Paged) -> Response:
    """List the squads of this club by ref."""
    with store_of(request).read() as connection:
        rows = [_shown(squad) for squad in squads.listed(connection, access.club_id)]
    return page_answer(request, query, rows, by=("ref",))


@router.get("/{ref}", summary="Read a squad", dependencies=ALONE, responses=answers(OBJECT) | problems(404, 422))
def read_squad(request: Request, access: Reader, ref: str) -> Response:
    """Read a squad by ref or id."""
    with store_of(request).read() as connection:
        squad = squads.find(connection, access.club_id, ref)
    if squad is None:
        raise NotFound(f"The club has no squad {ref!r}.")
    return json_answer(_shown(squad))


@router.patch(
    "/{ref}",
    summary="Rename a squad",
    dependencies=ALONE,
    openapi_extra=described(SquadPatch.model_json_schema()),
    responses=answers(OBJECT) | problems(404, 413, 415, 422, 507),
)
def change_squad(
    request: Request, access: Manager, ref: str, body: Annotated[SquadPatch, Depends(body_of(SquadPatch))]
) -> Response:
    """Give a squad another name; null names it by its ref."""
    with store_of(request).write() as connection:
        squad = squads.find(connection, access.club_id, ref)
        if squad is None:
            raise NotFound(f"The club has no squad {ref!r}.")
        if body.ref not in (None, squad.ref):
            raise immutable_ref()
        if "name" in body.model_fields_set:
            squad = squads.rename(connection, access.club_id, squad, body.name or squad.ref)
            audit.note(
                connection, (access.club_id, access.key_id), "squad.change", {"ref": squad.ref, "name": squad.name}
            )
    return json_answer(_shown(squad))


def _shown(squad: SquadFacts) -> Json:
    return {"id": squad.id, "ref": squad.ref, "name": squad.name}
