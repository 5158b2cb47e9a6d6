"""Sets coming in: one, a batch, a dry run of either."""

import asyncio
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import orjson
from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import TypeAdapter
from starlette.concurrency import run_in_threadpool

from stillset_core.members import SetMembers
from stillset_service import clock
from stillset_service.api.access import access_of
from stillset_service.api.bodies import described, flag, media_type, read_body
from stillset_service.api.operations import Metrics
from stillset_service.api.routes import BareRoute, answers, problems
from stillset_service.auth.scopes import Scope
from stillset_service.ingest.batch import lines_of, read_batch_item, texts_of
from stillset_service.ingest.items import Item, Outcome, Refused, Result, is_oversized, read_item
from stillset_service.ingest.queue import SetQueue, dry_run
from stillset_service.problems import TooLarge
from stillset_service.settings import Settings

__all__ = ["router"]

NDJSON = "application/x-ndjson"
_SLICE = 100
"""Sets of a batch that are read before other requests get a turn (a choice, no source)."""
_SET_SCHEMA = TypeAdapter(SetMembers).json_schema()
_BATCH_SCHEMA = TypeAdapter(list[SetMembers]).json_schema()
_STATUS = {Outcome.STORED: 201, Outcome.SEEN: 200}

DRY_RUN = {
    "name": "dry_run",
    "in": "query",
    "description": "Answer in the same way and store nothing.",
    "schema": {"type": "boolean", "default": False},
}
_ANSWER = {
    "type": "object",
    "properties": {
        "id": {"type": ["string", "null"]},
        "client_ref": {"type": "string"},
        "athlete": {"type": "string"},
        "performed_at": {"type": "string"},
        "standings": {"type": "array", "items": {"type": "object"}},
        "load": {"type": "object"},
    },
    "required": ["id", "client_ref", "athlete", "performed_at", "standings", "load"],
}
_BATCH_ANSWER = {
    "type": "object",
    "properties": {
        "results": {"type": "array", "items": {"type": "object"}},
        "counts": {"type": "object"},
    },
    "required": ["results", "counts"],
}

router = APIRouter(prefix="/v1/sets", route_class=BareRoute, tags=["sets"])


@router.post(
    "",
    status_code=201,
    summary="Take in one set",
    openapi_extra=described(_SET_SCHEMA) | {"parameters": [DRY_RUN]},
    responses=answers(_ANSWER, 200, 201) | problems(409, 413, 415, 422, 507),
)
async def post_set(request: Request) -> Response:
    """Take in one set, judge it and answer once it is durable; the same set again answers as the first time."""
    access = await access_of(request, Scope.WRITE)
    dry = flag(request, "dry_run")
    media_type(request)
    settings: Settings = request.app.state.settings
    item = read_item(await read_body(request, settings.max_trace_set_bytes), clock.now(), access.key_id)
    if isinstance(item, Refused):
        _count(request, {Outcome.INVALID: 1})
        raise item.problem
    if is_oversized(item, settings):
        raise TooLarge(f"A set without a trace is larger than {settings.max_set_bytes} bytes.")
    (result,) = await _taken(request, access.club_id, [item], dry=dry)
    _count(request, {} if dry else {result.outcome: 1})
    if result.problem is not None:
        raise result.problem
    status = 200 if dry else _STATUS[result.outcome]
    return Response(result.answer, status_code=status, media_type="application/json")


@router.post(
    "/batch",
    summary="Take in up to 5,000 sets",
    openapi_extra=described(_BATCH_SCHEMA, ("application/json", NDJSON)) | {"parameters": [DRY_RUN]},
    responses=answers(_BATCH_ANSWER) | problems(413, 415, 422, 507),
)
async def post_batch(request: Request) -> Response:
    """Take in many sets; one bad set never refuses its neighbours."""
    access = await access_of(request, Scope.WRITE)
    dry = flag(request, "dry_run")
    media = media_type(request, ("application/json", NDJSON))
    body = await read_body(request, request.app.state.settings.max_batch_bytes)
    read = await _read(request, lines_of(body) if media == NDJSON else texts_of(body), access.key_id)
    items = [one for one in read if isinstance(one, Item)]
    taken = iter(await _taken(request, access.club_id, items, dry=dry) if items else ())
    results = [next(taken) if isinstance(one, Item) else _invalid(one) for one in read]
    counts = Counter(result.outcome for result in results)
    _count(request, {} if dry else counts)
    answer = {
        "results": [_shown(index, result) for index, result in enumerate(results)],
        "counts": {outcome.value: counts[outcome] for outcome in Outcome},
    }
    return Response(orjson.dumps(answer), media_type="application/json")


async def _read(request: Request, texts: Iterable[bytes], key_id: str) -> list[Item | Refused]:
    """Read the sets of a batch, giving other requests a turn now and then."""
    settings: Settings = request.app.state.settings
    now = clock.now()
    read: list[Item | Refused] = []
    for text in texts:
        if len(read) == settings.max_batch_sets:
            raise TooLarge(f"A batch holds at most {settings.max_batch_sets} sets.")
        read.append(read_batch_item(text, now, key_id, settings))
        if len(read) % _SLICE == 0:
            await asyncio.sleep(0)
    return read


async def _taken(request: Request, club_id: str, items: Sequence[Item], *, dry: bool) -> Sequence[Result]:
    if dry:
        return await run_in_threadpool(dry_run, request.app.state.store, club_id, items)
    queue: SetQueue = request.app.state.set_queue
    return await queue.take(club_id, items)


def _count(request: Request, counts: Mapping[Outcome, int]) -> None:
    metrics: Metrics = request.app.state.metrics
    for outcome, number in counts.items():
        metrics.sets.labels(outcome.value).inc(number)


def _invalid(refused: Refused) -> Result:
    return Result(Outcome.INVALID, refused.client_ref, problem=refused.problem)


def _shown(index: int, result: Result) -> dict[str, object]:
    return {
        "index": index,
        "client_ref": result.client_ref,
        "outcome": result.outcome.value,
        "id": result.id,
        "standings": None if result.standings is None else orjson.Fragment(result.standings),
        "problem": None if result.problem is None else result.problem.body(),
    }
