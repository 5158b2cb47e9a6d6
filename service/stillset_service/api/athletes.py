"""Athletes: made, listed, read, changed, exported, erased."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import Connection

from stillset_core.errors import Fault
from stillset_service import books
from stillset_service.api.bodies import body_of, described
from stillset_service.api.models import AthleteBody, AthletePatch
from stillset_service.api.resources import (
    Manager,
    Paged,
    Reader,
    athlete_to_change,
    found_athlete,
    immutable_ref,
    json_answer,
    no_parameters,
    page_answer,
    store_of,
)
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.ids import new_id
from stillset_service.problems import Conflict, NotFound, Unprocessable
from stillset_service.store import athletes, audit, clubs, squads
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.engine import Parameter
from stillset_service.store.erasure import erase
from stillset_service.views.export import export_json
from stillset_service.views.spelling import Json

__all__ = ["router"]

router = APIRouter(prefix="/v1/athletes", tags=["club"])
ALONE = [Depends(no_parameters)]


@router.post(
    "",
    status_code=201,
    summary="Put an athlete on file",
    dependencies=ALONE,
    openapi_extra=described(AthleteBody.model_json_schema()),
    responses=answers(OBJECT, 201) | problems(409, 413, 415, 422, 507),
)
def make_athlete(
    request: Request, access: Manager, body: Annotated[AthleteBody, Depends(body_of(AthleteBody))]
) -> Response:
    """Put an athlete of this club on file."""
    with store_of(request).write() as connection:
        athlete_id = new_id()
        columns = {"ref": body.ref} | _columns(connection, access.club_id, body)
        if not athletes.add(connection, access.club_id, athlete_id, columns):
            detail = f"The club has an athlete {body.ref!r} already."
            raise Conflict(detail, [Fault("/ref", "taken", detail)], code="ref-taken")
        _note(connection, access, "athlete.make", athlete_id, columns)
        return json_answer(_shown(_on_file(connection, access.club_id, athlete_id)), 201)


@router.get("", summary="List the athletes", responses=answers(OBJECT) | problems(422))
def list_athletes(request: Request, access: Reader, query: Paged) -> Response:
    """List the athletes of this club by ref, archived ones included."""
    with store_of(request).read() as connection:
        rows = [_shown(facts) for facts in athletes.listed(connection, access.club_id)]
    return page_answer(request, query, rows, by=("ref",))


@router.get("/{ref}", summary="Read an athlete", dependencies=ALONE, responses=answers(OBJECT) | problems(404, 422))
def read_athlete(request: Request, access: Reader, ref: str) -> Response:
    """Read what is on file about an athlete, by ref or id."""
    with store_of(request).read() as connection:
        return json_answer(_shown(found_athlete(connection, access.club_id, ref)))


@router.patch(
    "/{ref}",
    summary="Change an athlete",
    dependencies=ALONE,
    openapi_extra=described(AthletePatch.model_json_schema()),
    responses=answers(OBJECT) | problems(404, 413, 415, 422, 507),
)
def change_athlete(
    request: Request, access: Manager, ref: str, body: Annotated[AthletePatch, Depends(body_of(AthletePatch))]
) -> Response:
    """Change what is on file about an athlete; what is left out stays, null clears."""
    with store_of(request).write() as connection:
        facts = found_athlete(connection, access.club_id, ref)
        if body.ref not in (None, facts.ref):
            raise immutable_ref()
        columns = _columns(connection, access.club_id, body)
        if columns:
            athletes.change(connection, access.club_id, facts.id, columns)
            _note(connection, access, "athlete.change", facts.id, columns)
        return json_answer(_shown(_on_file(connection, access.club_id, facts.id)))


@router.get(
    "/{ref}/export", summary="Export an athlete", dependencies=ALONE, responses=answers(OBJECT) | problems(404, 422)
)
def export_athlete(request: Request, access: Reader, ref: str) -> Response:
    """Give everything on record of an athlete, every version of every set included."""
    with store_of(request).read() as connection:
        facts = found_athlete(connection, access.club_id, ref)
        return json_answer({"athlete": _shown(facts)} | export_json(connection, access.club_id, facts.id))


@router.delete(
    "/{ref}",
    status_code=204,
    response_class=Response,
    summary="Erase an athlete",
    dependencies=ALONE,
    responses=problems(404, 422, 507),
)
def erase_athlete(request: Request, access: Manager, ref: str) -> Response:
    """Erase an athlete and everything that tells about them; client_refs and ref are free again."""
    store = store_of(request)
    with store.write() as connection:
        clubs.take_turns(connection, access.club_id)
        facts = athlete_to_change(connection, access.club_id, ref)
        erase(connection, access.club_id, facts.id)
        # Who it was must not be said here either.
        audit.note(connection, (access.club_id, access.key_id), "athlete.erase", {})
    books.forget(facts.id)
    store.wipe_traces()
    return Response(status_code=204)


def _on_file(connection: Connection, club_id: str, athlete_id: str) -> AthleteFacts:
    facts = athletes.with_id(connection, club_id, athlete_id)
    if facts is None:
        raise NotFound("The athlete is not there any more.")
    return facts


def _columns(connection: Connection, club_id: str, body: AthletePatch) -> dict[str, Parameter]:
    """Give the columns that a body states; the squad must be one of the club's."""
    stated = body.model_dump(mode="json", exclude={"ref", "squad"}, exclude_unset=True)
    columns: dict[str, Parameter] = dict(stated)
    if "archived" in columns:
        columns["archived"] = bool(columns["archived"])
    if "squad" in body.model_fields_set:
        squad = None if body.squad is None else squads.find(connection, club_id, body.squad)
        if squad is None and body.squad is not None:
            detail = f"The club has no squad {body.squad!r}."
            raise Unprocessable(detail, [Fault("/squad", "unknown-squad", detail)], code="unknown-squad")
        columns["squad_id"] = None if squad is None else squad.id
    return columns


def _note(connection: Connection, access: Manager, action: str, athlete_id: str, columns: dict[str, Parameter]) -> None:
    audit.note(connection, (access.club_id, access.key_id), action, dict(columns), athlete_id)


def _shown(facts: AthleteFacts) -> Json:
    return {
        "id": facts.id,
        "ref": facts.ref,
        "name": facts.name,
        "squad": facts.squad,
        "role": facts.role,
        "dominant_side": None if facts.dominant_side is None else facts.dominant_side.value,
        "sex": facts.sex,
        "born": None if facts.born is None else facts.born.isoformat(),
        "archived": facts.archived,
    }
