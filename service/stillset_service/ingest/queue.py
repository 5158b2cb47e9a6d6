"""The way into the store for sets: requests that wait at the same time share one durable commit.

A commit that survives a power cut costs a write to the disk, so while one is under way the
requests that arrive meanwhile gather, and the next commit takes them all. None of them is answered
before it. If a shared commit fails, each request is tried by itself, so that one cannot spoil another.
"""

import asyncio
from collections import deque
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError, OperationalError

from stillset_service import books, clock
from stillset_service.ingest.items import Item, Result
from stillset_service.ingest.take_in import Taken, Visit, take_in
from stillset_service.store.engine import Store

__all__ = ["SetQueue", "dry_run"]

_ENOUGH = 500
"""Sets after which a commit takes no further request (a choice, no source)."""
_LARGE = 1000
"""Sets of one commit beyond which it leaves the event loop to others while it runs (a choice, no source)."""
_ATTEMPTS = 3
_LOST_RACES = (IntegrityError, LookupError)
"""Another process stored the same client_ref or erased the athlete between our reading and our writing."""
_DEADLOCK = "40P01"
"""PostgreSQL's SQLSTATE for a deadlock, in which one side is asked to try again (its manual, appendix A)."""


@dataclass(frozen=True, slots=True)
class _Request:
    """Sets of one request, and where its results are awaited."""

    club_id: str
    items: Sequence[Item]
    results: "asyncio.Future[Sequence[Result]]"


class SetQueue:
    """Takes sets of requests into the store, one commit after another."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._waiting: deque[_Request] = deque()
        self._worker: asyncio.Task[None] | None = None

    async def take(self, club_id: str, items: Sequence[Item]) -> Sequence[Result]:
        """Take in the sets of one request; returns once they are durable."""
        loop = asyncio.get_running_loop()
        request = _Request(club_id, items, loop.create_future())
        self._waiting.append(request)
        if self._worker is None or self._worker.done():
            self._worker = loop.create_task(self._work())
        return await request.results

    async def _work(self) -> None:
        while self._waiting:
            group = self._next_group()
            try:
                await self._take_in(group)
            except Exception as error:  # noqa: BLE001 (whatever it is, whoever waits is told)
                await self._one_by_one(group, error)

    def _next_group(self) -> list[_Request]:
        """Take requests from the front of the queue until they hold enough sets to be worth a commit."""
        group: list[_Request] = []
        sets = 0
        while self._waiting and sets < _ENOUGH:
            group.append(self._waiting.popleft())
            sets += len(group[-1].items)
        return group

    async def _one_by_one(self, group: Sequence[_Request], error: Exception) -> None:
        """Try each request of a group that failed by itself; a single one has been tried already."""
        if len(group) == 1:
            _tell(group[0], error)
            return
        for request in group:
            try:
                await self._take_in([request])
            except Exception as own_error:  # noqa: BLE001 (whatever it is, whoever waits is told)
                _tell(request, own_error)

    async def _take_in(self, group: Sequence[_Request]) -> None:
        sets = sum(len(request.items) for request in group)
        results = await self._on_the_loop(group) if self._store.is_sqlite and sets <= _LARGE else None
        if results is None:
            results = await asyncio.to_thread(self._in_thread, group)
        for request, one in zip(group, results, strict=True):
            if not request.results.done():
                request.results.set_result(one)

    async def _on_the_loop(self, group: Sequence[_Request]) -> list[Sequence[Result]] | None:
        """Run a short transaction on a local file here, as handing it over would cost more; commit it in a thread.

        While the disk is written, other requests are read. None where somebody else is writing, for nothing waits here.
        """
        if not self._store.write_lock.acquire(blocking=False):
            return None
        try:
            with ExitStack() as opened:
                try:
                    connection = opened.enter_context(self._store.transaction(waits=False))
                except OperationalError:
                    return None
                taken = self._taken(connection, group)
                await asyncio.to_thread(opened.pop_all().close)
            return _kept(taken, group)
        finally:
            self._store.write_lock.release()

    def _in_thread(self, group: Sequence[_Request]) -> list[Sequence[Result]]:
        with self._store.write_lock:
            return self._attempts(group)

    def _attempts(self, group: Sequence[_Request]) -> list[Sequence[Result]]:
        """Run the transaction, again where another process was faster."""
        for _ in range(_ATTEMPTS - 1):
            try:
                return self._transaction(group)
            except _LOST_RACES:
                continue
            except OperationalError as error:
                if getattr(error.orig, "sqlstate", None) != _DEADLOCK:
                    raise
        return self._transaction(group)

    def _transaction(self, group: Sequence[_Request]) -> list[Sequence[Result]]:
        with self._store.transaction() as connection:
            taken = self._taken(connection, group)
        return _kept(taken, group)

    def _taken(self, connection: Connection, group: Sequence[_Request]) -> dict[str, Taken]:
        return {club_id: self._of_club(connection, club_id, group) for club_id in _clubs(group)}

    def _of_club(self, connection: Connection, club_id: str, group: Sequence[_Request]) -> Taken:
        items = [item for request in group if request.club_id == club_id for item in request.items]
        return take_in(Visit(connection, club_id, clock.now(), stores=True), items)


def dry_run(store: Store, club_id: str, items: Sequence[Item]) -> Sequence[Result]:
    """Give the results that sets would have, storing nothing."""
    with store.read() as connection:
        return take_in(Visit(connection, club_id, clock.now(), stores=False), items).results


def _kept(taken: dict[str, Taken], group: Sequence[_Request]) -> list[Sequence[Result]]:
    """Remember the books of a commit, and hand each request its own results."""
    for one in taken.values():
        for book in one.books:
            books.keep(book)
    left = {club_id: iter(one.results) for club_id, one in taken.items()}
    return [[next(left[request.club_id]) for _ in request.items] for request in group]


def _clubs(group: Sequence[_Request]) -> list[str]:
    """List the clubs of a group, in one order in every process."""
    return sorted({request.club_id for request in group})


def _tell(request: _Request, error: Exception) -> None:
    if not request.results.done():
        request.results.set_exception(error)
