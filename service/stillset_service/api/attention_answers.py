"""Answers to attention items: seen, explained, or snoozed until a date."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response
from sqlalchemy import Connection

from stillset_core.attention import CATALOGUE
from stillset_core.attention.catalogue import INSTRUMENT_CHECK
from stillset_core.errors import Fault
from stillset_service import clock
from stillset_service.api.answers import Basis, Table, answer_table, documented, once_each
from stillset_service.api.bodies import body_of, described
from stillset_service.api.formats import texts
from stillset_service.api.models import AnswerBody
from stillset_service.api.resources import Manager, Reader, json_answer, no_parameters, store_of
from stillset_service.api.routes import OBJECT, answers, problems
from stillset_service.api.windows import TableQuery
from stillset_service.auth.scopes import Access
from stillset_service.ids import new_id
from stillset_service.problems import Unprocessable
from stillset_service.store import athletes, attention_answers, audit
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.attention_answers import AttentionAnswer
from stillset_service.store.engine import Store
from stillset_service.views.answered import AnswerKind, answer_row_json
from stillset_service.views.spelling import Json

__all__ = ["ANSWERS", "keep_answer", "router"]

router = APIRouter(prefix="/v1/attention/answers", tags=["club"])

RULES = frozenset(check.code for check in CATALOGUE)

ANSWERS: Table[AttentionAnswer] = Table(
    "attention-answers",
    texts("id", "athlete", "rule", "direction", "side", "serial", "answer", "text", "until", "at", "key"),
    lambda answer: (answer.at_us, answer.id),
)


@router.post(
    "",
    status_code=201,
    summary="Answer an attention item",
    dependencies=[Depends(no_parameters)],
    openapi_extra=described(AnswerBody.model_json_schema()),
    responses=answers(OBJECT, 201) | problems(413, 415, 422, 507),
)
def make_answer(
    request: Request, access: Manager, body: Annotated[AnswerBody, Depends(body_of(AnswerBody))]
) -> Response:
    """Answer an item of an athlete, or of an instrument by its serial; the latest answer stands, the others are kept.

    ``explained`` needs a text, ``snoozed`` a date to come. No number changes by it. An answer lapses when the item
    newly begins.
    """
    return json_answer(keep_answer(store_of(request), access, body), 201)


@router.get("", summary="List the answers", dependencies=[Depends(once_each)], responses=documented())
def list_answers(request: Request, access: Reader, query: Annotated[TableQuery, Query()]) -> Response:
    """List every answer given between ``from`` and ``to``, and not after ``as_of``; oldest first."""
    with store_of(request).read() as connection:
        # Refs and erasures are revisions too: the rows themselves are the basis.
        everything = attention_answers.listed(connection, access.club_id)
    basis = Basis(request, query, (access.club_id, *everything))

    def rows() -> list[AttentionAnswer]:
        return [answer for answer in everything if _asked_for(answer, query)]

    def shape(page: Sequence[AttentionAnswer]) -> list[Json]:
        return [answer_row_json(answer) for answer in page]

    return answer_table(basis, query, ANSWERS, rows, shape)


def keep_answer(store: Store, access: Access, body: AnswerBody) -> Json:
    """Store an answer and write it down in the record of changes.

    Raises
    ------
    Unprocessable
        For a place that no item can have, or an answer without what it needs.
    """
    at = clock.now()
    faults = list(_faults(body, at.date()))
    if faults:
        raise Unprocessable("The answer has faults.", faults)
    with store.write() as connection:
        facts = None if body.athlete is None else _athlete(connection, access, body.athlete)
        answer = AttentionAnswer(
            id=new_id(),
            athlete=None if facts is None else facts.ref,
            rule=body.rule,
            direction=None if body.direction is None else body.direction.value,
            side=None if body.side is None else body.side.value,
            serial=body.serial,
            answer=body.answer.value,
            text=body.text,
            until=body.until,
            key_id=access.key_id,
            at_us=clock.microseconds(at),
        )
        athlete_id = None if facts is None else facts.id
        attention_answers.add(connection, access.club_id, athlete_id, answer)
        audit.note(connection, (access.club_id, access.key_id), "attention.answer", answer_row_json(answer), athlete_id)
    return answer_row_json(answer)


def _faults(body: AnswerBody, today: date) -> Iterator[Fault]:
    """Find everything that does not fit together."""
    if body.rule not in RULES:
        yield Fault("/rule", "unknown-rule", f"{body.rule!r} is no rule of attention.")
    about_instrument = body.rule == INSTRUMENT_CHECK.code
    if (body.athlete is None) is not about_instrument:
        detail = "An item of an instrument has no athlete." if about_instrument else "The item's athlete is needed."
        yield Fault("/athlete", "not-the-place", detail)
    if (body.serial is not None) is not about_instrument:
        detail = "The instrument's serial is needed." if about_instrument else "Only an instrument's item has a serial."
        yield Fault("/serial", "not-the-place", detail)
    if body.answer is AnswerKind.EXPLAINED and body.text is None:
        yield Fault("/text", "missing", "An explanation needs a text.")
    if (body.until is not None) is not (body.answer is AnswerKind.SNOOZED):
        yield Fault("/until", "not-the-place", "A snooze needs a date, and only a snooze has one.")
    elif body.until is not None and body.until <= today:
        yield Fault("/until", "not-to-come", "The date must be later than today.")


def _athlete(connection: Connection, access: Access, ref: str) -> AthleteFacts:
    """Find the athlete and begin the next revision, so that nobody is erased meanwhile and every view sees it."""
    facts = athletes.find(connection, access.club_id, ref)
    if facts is None or not athletes.bump(connection, access.club_id, [facts.id]):
        detail = f"The club has no athlete {ref!r}."
        raise Unprocessable(detail, [Fault("/athlete", "unknown-athlete", detail)], code="unknown-athlete")
    return facts


def _asked_for(answer: AttentionAnswer, query: TableQuery) -> bool:
    at = clock.instant(answer.at_us)
    return query.holds(at) and (query.as_of is None or at <= query.as_of)
