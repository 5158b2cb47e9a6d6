"""Periods of an athlete: injury, rehabilitation, break, baseline, competition."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from stillset_service.api.answers import Table, answer_table, once_each
from stillset_service.api.bodies import body_of, described
from stillset_service.api.formats import texts
from stillset_service.api.models import PeriodBody
from stillset_service.api.opened import open_athlete
from stillset_service.api.resources import Manager, Reader, athlete_to_change, json_answer, no_parameters, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.api.windows import TableQuery
from stillset_service.ids import new_id
from stillset_service.problems import NotFound
from stillset_service.store import audit, periods
from stillset_service.store.periods import PeriodFacts
from stillset_service.views.periods import period_json

__all__ = ["router"]

router = APIRouter(prefix="/v1/athletes/{ref}/periods", tags=["club"])
ALONE = [Depends(no_parameters)]

PERIODS: Table[PeriodFacts] = Table(
    "periods",
    texts("id", "kind", "from", "to", "note"),
    lambda period: (period.from_date.isoformat(), period.id),
)


@router.get("", summary="List the periods", dependencies=[Depends(once_each)], responses=problems(404, 406, 422))
def list_periods(request: Request, access: Reader, ref: str, query: Annotated[TableQuery, Query()]) -> Response:
    """List the periods of an athlete that touch the days asked for, earliest first."""
    with open_athlete(request, access, ref, query) as opened:

        def rows() -> list[PeriodFacts]:
            return [period for period in opened.book.periods if _touches(period, query)]

        return answer_table(opened.basis, query, PERIODS, rows, lambda page: [period_json(period) for period in page])


@router.post(
    "",
    status_code=201,
    summary="Mark a period",
    dependencies=ALONE,
    openapi_extra=described(PeriodBody.model_json_schema()),
    responses=answers(OBJECT, 201) | problems(404, 413, 415, 422, 507),
)
def make_period(
    request: Request, access: Manager, ref: str, body: Annotated[PeriodBody, Depends(body_of(PeriodBody))]
) -> Response:
    """Mark a dated span of an athlete."""
    period = PeriodFacts(new_id(), body.kind.value, body.from_, body.to, body.note)
    with store_of(request).write() as connection:
        facts = athlete_to_change(connection, access.club_id, ref)
        periods.add(connection, access.club_id, facts.id, period)
        audit.note(connection, (access.club_id, access.key_id), "period.make", period_json(period), facts.id)
    return json_answer(period_json(period), 201)


@router.delete(
    "/{period_id}",
    status_code=204,
    response_class=Response,
    summary="Remove a period",
    dependencies=ALONE,
    responses=problems(404, 422, 507),
)
def remove_period(request: Request, access: Manager, ref: str, period_id: str) -> Response:
    """Remove a period that was marked wrongly."""
    with store_of(request).write() as connection:
        facts = athlete_to_change(connection, access.club_id, ref)
        if not periods.remove(connection, access.club_id, facts.id, period_id):
            raise NotFound(f"The athlete has no period {period_id!r}.")
        audit.note(connection, (access.club_id, access.key_id), "period.remove", {"id": period_id}, facts.id)
    return Response(status_code=204)


def _touches(period: PeriodFacts, query: TableQuery) -> bool:
    """Whether a period has a day in common with the days asked for."""
    begins_in_time = query.to is None or period.from_date <= query.to.date()
    return begins_in_time and (query.from_ is None or period.to_date is None or period.to_date >= query.from_.date())
