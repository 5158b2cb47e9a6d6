"""Keys of a club: made, listed, revoked."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from stillset_service import clock
from stillset_service.api.bodies import body_of, described
from stillset_service.api.models import KeyBody
from stillset_service.api.resources import Manager, Paged, Reader, json_answer, no_parameters, page_answer, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.auth.keys import Keyring, new_key
from stillset_service.problems import NotFound
from stillset_service.store import audit, keys
from stillset_service.views.spelling import Json

__all__ = ["router"]

router = APIRouter(prefix="/v1/keys", tags=["club"])
ALONE = [Depends(no_parameters)]


@router.post(
    "",
    status_code=201,
    summary="Make a key",
    dependencies=ALONE,
    openapi_extra=described(KeyBody.model_json_schema()),
    responses=answers(OBJECT, 201) | problems(413, 415, 422, 507),
)
def make_key(request: Request, access: Manager, body: Annotated[KeyBody, Depends(body_of(KeyBody))]) -> Response:
    """Make a key of this club; the key itself is in this answer and is never shown again."""
    scopes = sorted({scope.value for scope in body.scopes})
    with store_of(request).write() as connection:
        key_id, key = new_key(connection, access.club_id, body.name, body.scopes)
        detail: Json = {"key": key_id, "name": body.name, "scopes": scopes}
        audit.note(connection, (access.club_id, access.key_id), "key.make", detail)
    return json_answer({"id": key_id, "name": body.name, "scopes": scopes, "key": key}, 201)


@router.get("", summary="List the keys", responses=answers(OBJECT) | problems(422))
def list_keys(request: Request, access: Reader, query: Paged) -> Response:
    """List the keys of this club, revoked ones too; never the keys themselves."""
    with store_of(request).read() as connection:
        rows: list[Json] = [
            {
                "id": key.id,
                "name": key.name,
                "scopes": key.scopes.split(),
                "created_at": clock.spelled(key.created_us),
                "revoked_at": None if key.revoked_us is None else clock.spelled(key.revoked_us),
            }
            for key in keys.listed(connection, access.club_id)
        ]
    return page_answer(request, query, rows, by=("created_at", "id"))


@router.delete(
    "/{key_id}",
    status_code=204,
    response_class=Response,
    summary="Revoke a key",
    dependencies=ALONE,
    responses=problems(404, 422, 507),
)
def revoke_key(request: Request, access: Manager, key_id: str) -> Response:
    """Revoke a key at once."""
    with store_of(request).write() as connection:
        if not keys.revoke(connection, access.club_id, key_id):
            raise NotFound(f"The club has no active key {key_id!r}.")
        audit.note(connection, (access.club_id, access.key_id), "key.revoke", {"key": key_id})
    keyring: Keyring = request.app.state.keyring
    keyring.forget()
    return Response(status_code=204)
