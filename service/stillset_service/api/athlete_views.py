"""Reading views of one athlete: sets, readings, trend, balance, load, pain and attention."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from stillset_core.attention import attention_of
from stillset_core.load import LoadWeek, load_weeks
from stillset_core.pain import PainEntry
from stillset_core.periods import latest_injury
from stillset_core.pipeline import AthleteState
from stillset_core.records import Direction
from stillset_core.return_to_level import SeriesReturn, return_of
from stillset_core.series import Reading
from stillset_service import clock
from stillset_service.api.answers import Table, answer_object, answer_table, documented, once_each
from stillset_service.api.flat import (
    BALANCE_COLUMNS,
    HISTORY_COLUMNS,
    TREND_COLUMNS,
    balance_rows,
    history_rows,
    trend_rows,
)
from stillset_service.api.formats import flags, lists, reals, texts, wholes
from stillset_service.api.opened import OpenedAthlete, open_athlete
from stillset_service.api.resources import Reader
from stillset_service.api.squad_views import ATTENTION
from stillset_service.api.windows import StandingQuery, TableQuery, TrendQuery, ViewQuery
from stillset_service.books import open_documents
from stillset_service.views.answered import AnsweredItem, answered, answered_json
from stillset_service.views.periods import periods_of
from stillset_service.views.sets import SetSeen, reading_json, set_json, sets_seen, standing_of
from stillset_service.views.spelling import Json
from stillset_service.views.strength import balance_json, trend_json
from stillset_service.views.work import load_rows_json, pain_json

__all__ = ["LOAD", "PAIN", "READINGS", "SETS", "router"]

router = APIRouter(
    prefix="/v1/athletes/{ref}", dependencies=[Depends(once_each)], responses=documented(), tags=["reading"]
)

DOCUMENTS_AT_ONCE = 50
"""A document may carry a trace of several megabytes."""

SETS: Table[SetSeen] = Table(
    "sets",
    (
        *texts("id", "client_ref", "athlete", "performed_at", "received_at", "status", "session_ref", "purpose"),
        *texts("position.name"),
        *reals("position.knee_angle_deg", "position.hip_angle_deg", "position.bar_height"),
        *texts("position.foot_mark", "position.arms", "instrument.kind", "instrument.serial"),
        *flags("instrument.zeroed"),
        *texts("instrument.checked_on", "unit"),
        *reals("intended_percent", "rpe"),
        *lists("reps", "trace"),
        *reals("pain.score"),
        *flags("pain.present"),
        *texts("pain.site", "pain.when"),
        *reals("body_mass_kg"),
        *texts("note"),
        *lists("standings"),
        *wholes("load.reps"),
        *reals("load.hold_s", "load.impulse_n_s"),
    ),
    # Newest first; of one instant by client_ref, so that the order of arrival does not show.
    lambda seen: (-clock.microseconds(seen.at), seen.stored.client_ref),
)
READINGS: Table[Reading] = Table(
    "readings",
    (
        *texts("set_id", "client_ref", "performed_at", "direction", "standing"),
        *reals("left", "right", "adjusted_left", "adjusted_right"),
        *texts("unit"),
        *wholes("maximal_reps"),
        *texts("position"),
        *reals("knee_angle_deg"),
        *texts("instrument_kind"),
    ),
    # Oldest first, in the order in which the trend takes them.
    lambda reading: (
        clock.microseconds(reading.performed_at),
        0 if reading.counts else 1,
        1 if reading.direction is Direction.SPREAD else 0,
        reading.client_ref,
    ),
)
LOAD: Table[LoadWeek] = Table(
    "load",
    (
        *texts("week"),
        *wholes("reps"),
        *reals("hold_s", "impulse_n_s", "hard_s"),
        *reals("previous_four_weeks_hold_s", "change_percent", "monotony", "strain"),
    ),
    lambda week: (week.week,),
)
PAIN: Table[PainEntry] = Table(
    "pain",
    (*texts("performed_at"), *reals("score"), *flags("present"), *texts("site", "when", "set_id")),
    lambda entry: (clock.microseconds(entry.performed_at), entry.client_ref),
)


@router.get("/sets")
def sets(request: Request, ref: str, query: Annotated[StandingQuery, Query()], access: Reader) -> Response:
    """Give the sets as they were sent, newest first, with their standings as judged now."""
    with open_athlete(request, access, ref, query) as opened:

        def rows() -> list[SetSeen]:
            seen = sets_seen(opened.book, opened.state, opened.saved.protocol)
            return [one for one in seen if query.holds(one.at) and one.has(query.standing)]

        def shape(page: Sequence[SetSeen]) -> list[Json]:
            documents = open_documents(opened.connection, opened.club_id, [one.stored.id for one in page])
            return [set_json(one, documents[one.stored.id], opened.facts.ref) for one in page]

        return answer_table(opened.basis, query, SETS, rows, shape)


@router.get("/readings")
def readings(request: Request, ref: str, query: Annotated[StandingQuery, Query()], access: Reader) -> Response:
    """Give the readings that the trend is made of, oldest first."""
    with open_athlete(request, access, ref, query) as opened:

        def rows() -> list[Reading]:
            return [
                reading
                for reading in opened.state.readings
                if query.holds(reading.performed_at) and query.standing in {None, standing_of(reading)}
            ]

        def shape(page: Sequence[Reading]) -> list[Json]:
            ids = [opened.set_ids[reading.client_ref] for reading in page]
            sent = _times_as_sent(opened, ids)
            return [reading_json(reading, set_id, sent[set_id]) for reading, set_id in zip(page, ids, strict=True)]

        return answer_table(opened.basis, query, READINGS, rows, shape)


@router.get("/trend")
def trend(request: Request, ref: str, query: Annotated[TrendQuery, Query()], access: Reader) -> Response:
    """Give level, change and state of every series; with ``history=true`` how they came about.

    ``return`` is null without an injury on file. Otherwise it compares each side with its level as of the last
    injury's first day (midnight UTC), which stays as it was known then: ``percent`` with its 95 % interval, and the
    probability that 90, 95 and 100 % have been reached. A side needs 3 counting readings before and one since.
    """
    columns, flat = (HISTORY_COLUMNS, history_rows) if query.history else (TREND_COLUMNS, trend_rows)
    with open_athlete(request, access, ref, query) as opened:
        return answer_object(
            opened.basis,
            lambda: trend_json(
                _shown(opened), history=query.holds if query.history else None, returns=_returns(opened)
            ),
            columns,
            flat,
        )


@router.get("/balance")
def balance(request: Request, ref: str, query: Annotated[ViewQuery, Query()], access: Reader) -> Response:
    """Give squeeze ÷ spread of each side and left against right of each direction, per series."""
    with open_athlete(request, access, ref, query) as opened:
        return answer_object(opened.basis, lambda: balance_json(_shown(opened)), BALANCE_COLUMNS, balance_rows)


@router.get("/load")
def load(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give the work of each week, of the sets between ``from`` and ``to``.

    The last four members are of whole weeks that are over, by hold seconds a day, rest days as 0. monotony is mean ÷ SD
    (divisor n - 1; null for equal days) and strain the week's sum × monotony, after Foster 1998: made for session
    ratings in endurance sport, without evidence for a mark in strength work.
    """
    with open_athlete(request, access, ref, query) as opened:

        def rows() -> tuple[LoadWeek, ...]:
            state = opened.state
            chosen = [one for one in state.judged if query.holds(one.record.performed_at)]
            return load_weeks(chosen, state.trends, opened.saved.protocol)

        return answer_table(opened.basis, query, LOAD, rows, lambda page: load_rows_json(page, opened.state))


@router.get("/pain")
def pain(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give one row for each set that states pain, oldest first."""
    with open_athlete(request, access, ref, query) as opened:

        def rows() -> list[PainEntry]:
            return [entry for entry in opened.state.pain if query.holds(entry.performed_at)]

        def shape(page: Sequence[PainEntry]) -> list[Json]:
            ids = [opened.set_ids[entry.client_ref] for entry in page]
            sent = _times_as_sent(opened, ids)
            return [pain_json(entry, set_id, sent[set_id]) for entry, set_id in zip(page, ids, strict=True)]

        return answer_table(opened.basis, query, PAIN, rows, shape)


@router.get("/attention")
def attention(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give what to look at in this athlete, strongest first, with what was answered; snoozed items come last."""
    with open_athlete(request, access, ref, query) as opened:

        def rows() -> tuple[AnsweredItem, ...]:
            state, periods = opened.state, periods_of(opened.book.periods)
            items = attention_of(opened.facts.ref, state, opened.saved.protocol, periods)
            return answered(items, opened.answers, state.as_of)

        return answer_table(opened.basis, query, ATTENTION, rows, lambda page: [answered_json(one) for one in page])


def _shown(opened: OpenedAthlete) -> AthleteState:
    """Give the state, without any series when no instant can lie between ``from`` and ``to``."""
    nothing = opened.basis.query.holds_nothing
    return replace(opened.state, trends=(), balances=()) if nothing else opened.state


def _returns(opened: OpenedAthlete) -> list[SeriesReturn | None]:
    """Give the way back of every series that is shown, if the athlete has been injured."""
    state, protocol = _shown(opened), opened.saved.protocol
    injury = latest_injury(periods_of(opened.book.periods), state.as_of.date())
    if injury is None:
        return []
    return [return_of(trend, state.readings, protocol, injury.begin) for trend in state.trends]


def _times_as_sent(opened: OpenedAthlete, ids: Sequence[str]) -> dict[str, str]:
    """Return ``performed_at`` of some sets as their clients spelled it, holding few documents at a time."""
    sent: dict[str, str] = {}
    for start in range(0, len(ids), DOCUMENTS_AT_ONCE):
        documents = open_documents(opened.connection, opened.club_id, ids[start : start + DOCUMENTS_AT_ONCE])
        sent.update((set_id, str(document["performed_at"])) for set_id, document in documents.items())
    return sent
