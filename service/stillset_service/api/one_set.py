"""One stored set: read as it is judged now, amended, withdrawn."""

from dataclasses import asdict
from hashlib import blake2b
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from stillset_core.document import parse_accepted_set
from stillset_core.history import judge_among
from stillset_core.intake import sampled_force
from stillset_core.load import set_load
from stillset_core.trace.measures import TraceMeasures, measures_in_trace
from stillset_service.api.access import require
from stillset_service.api.answers import Basis, answer_object, documented
from stillset_service.api.bodies import body_of, described
from stillset_service.api.flat import TRACE_COLUMNS, trace_rows
from stillset_service.api.models import AmendBody, WithdrawBody
from stillset_service.api.resources import Reader, json_answer, no_parameters, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.api.windows import ViewQuery
from stillset_service.auth.scopes import Access
from stillset_service.books import open_book_of, open_documents
from stillset_service.ingest.amend import amend, withdraw
from stillset_service.problems import NotFound
from stillset_service.store import athletes, protocols, sets
from stillset_service.views.sets import SetSeen, set_json

__all__ = ["router"]

router = APIRouter(prefix="/v1/sets/{set_id}", tags=["sets"], dependencies=[Depends(no_parameters)])
Writer = Annotated[Access, Depends(require("sets:write"))]
"""The access of a request that may post and mend sets."""


@router.get("", summary="Read a set", responses=answers(OBJECT) | problems(404, 422))
def read_set(request: Request, access: Reader, set_id: str) -> Response:
    """Give every member as it was sent, with the standings as judged now."""
    with store_of(request).read() as connection:
        stored = sets.find(connection, access.club_id, set_id)
        facts = None if stored is None else athletes.with_id(connection, access.club_id, stored.athlete_id)
        if facts is None:
            raise NotFound(f"The club has no set {set_id!r}.")
        book = open_book_of(connection, access.club_id, facts)
        protocol = protocols.in_force(connection, access.club_id).protocol
        document = open_documents(connection, access.club_id, [set_id])[set_id]
    one = next(one for one in book.sets if one.id == set_id)
    outcome = judge_among(one.record, book.active, book.positions, protocol)
    return json_answer(set_json(SetSeen(one, outcome, set_load(one.record)), document, book.athlete.ref))


@router.get("/trace", summary="Measure a trace", response_model=TraceMeasures, responses=documented())
def measure_trace(request: Request, access: Reader, set_id: str) -> Response:
    """Give the reps of a set that came as a trace, with measures of each side beside what is judged, and findings.

    Nothing here changes a standing. null stands for what cannot be given honestly: rates of force development below
    1000 Hz or without rest before the rep, for one. Forces are in `unit`; `cutoff_hz` is that of the filter behind
    `filtered_peak`, `time_to_peak_s` and `steadiness_cv_percent`.
    """
    with store_of(request).read() as connection:
        stored = sets.find(connection, access.club_id, set_id)
    if stored is None:
        raise NotFound(f"The club has no set {set_id!r}.")
    trace = sampled_force(parse_accepted_set(stored.document))
    if trace is None:
        raise NotFound(f"The set {set_id!r} came as reps, not as a trace.")
    basis = Basis(request, ViewQuery(), (access.club_id, blake2b(stored.document).hexdigest()))
    return answer_object(basis, lambda: asdict(measures_in_trace(trace)), TRACE_COLUMNS, trace_rows)


@router.post(
    "/amend",
    summary="Amend a set",
    openapi_extra=described(AmendBody.model_json_schema()),
    responses=answers(OBJECT) | problems(404, 409, 413, 415, 422, 507),
)
def amend_set(
    request: Request,
    access: Writer,
    set_id: str,
    body: Annotated[AmendBody, Depends(body_of(AmendBody, with_trace=True))],
) -> Response:
    """Correct a set by a JSON merge patch (RFC 7396) with a reason; what was there before is kept."""
    with store_of(request).write() as connection:
        answer = amend(connection, access, set_id, body.reason, body.changes)
    return json_answer(answer)


@router.post(
    "/withdraw",
    summary="Withdraw a set",
    openapi_extra=described(WithdrawBody.model_json_schema()),
    responses=answers(OBJECT) | problems(404, 413, 415, 422, 507),
)
def withdraw_set(
    request: Request, access: Writer, set_id: str, body: Annotated[WithdrawBody, Depends(body_of(WithdrawBody))]
) -> Response:
    """Withdraw a set with a reason: it stays on record and counts nowhere; again changes nothing."""
    with store_of(request).write() as connection:
        answer = withdraw(connection, access, set_id, body.reason)
    return json_answer(answer)
