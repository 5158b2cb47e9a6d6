"""Planning: what another rhythm of sets would show."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import Connection

from stillset_core.planning import Habit, Question
from stillset_service import clock
from stillset_service.api.bodies import body_of, described
from stillset_service.api.models import PlanBody
from stillset_service.api.resources import Manager, json_answer, no_parameters, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.auth.scopes import Access
from stillset_service.books import open_book
from stillset_service.ingest.take_in import unknown_athlete
from stillset_service.recompute import present_moment, state_of
from stillset_service.store import protocols
from stillset_service.store.protocols import SavedProtocol
from stillset_service.views.planning import plan_json, present_noise_scale

__all__ = ["router"]

router = APIRouter(prefix="/v1/plan", tags=["reading"])


@router.post(
    "",
    summary="Ask what a rhythm of sets would show",
    dependencies=[Depends(no_parameters)],
    openapi_extra=described(PlanBody.model_json_schema()),
    responses=answers(OBJECT) | problems(413, 415, 422),
)
def plan(request: Request, access: Manager, body: Annotated[PlanBody, Depends(body_of(PlanBody))]) -> Response:
    """Give what so many sets a week would show; nothing is stored.

    ``sets_per_week`` are of both directions, evenly spaced; ``maximal_share`` of them count. ``noise_scale`` is the
    athlete's noise against the usual; ``athlete`` takes that of an athlete. ``detectable_percent`` is the smallest
    decline of both sides of a direction, coming over 21 days, that is called within ``weeks`` with probability
    ``power`` at the protocol's false calls: null with fewer than 4 counting sets in that time, or beyond 50 %.
    ``detection_probability`` is that of ``decline_percent``. ``interval_half_width_percent`` is the upper half of the
    95 % interval of one side's level, in % of it. ``one_more_set`` is the same with one more set a week. All from
    the model of the trend, tried on simulated athletes only.
    """
    with store_of(request).read() as connection:
        saved = protocols.in_force(connection, access.club_id)
        scale = body.noise_scale or 1.0
        if body.athlete is not None:
            scale = _noise_scale_of(connection, access, saved, body.athlete)
    habit = Habit(body.sets_per_week, body.maximal_share, scale)
    return json_answer(plan_json(habit, Question(body.weeks, body.power), saved.protocol, body.decline_percent))


def _noise_scale_of(connection: Connection, access: Access, saved: SavedProtocol, ref_or_id: str) -> float:
    book = open_book(connection, access.club_id, ref_or_id)
    if book is None:
        raise unknown_athlete(ref_or_id)
    return present_noise_scale(state_of(book, saved, present_moment([book], clock.now())))
