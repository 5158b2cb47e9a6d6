"""Derive what the first board of the day needs before anybody asks for it.

States are as of the end of a day, so they are derived at the start of the service and after each
midnight (UTC), in a thread of their own that no request waits for. What is not ready when it is asked
for is derived then.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, time, timedelta

from sqlalchemy.exc import SQLAlchemyError

from stillset_service import clock
from stillset_service.api.operations import engine
from stillset_service.books import open_books
from stillset_service.recompute import present_moment, state_of
from stillset_service.store import clubs, protocols
from stillset_service.store.engine import Store
from stillset_service.views.board import squad_state

__all__ = ["kept_warm", "warm"]

MOST_SETS = 50_000
"""Half of what memory holds: a federation of many clubs would push out its own first ones."""
GLANCE_S = 0.2
"""How often a thread that waits for the engine looks whether it is to stop."""


@contextmanager
def kept_warm(store: Store) -> Iterator[None]:
    """Keep the states of today derived while the block runs."""
    stopped = threading.Event()
    thread = threading.Thread(target=_keep_warm, args=(store, stopped), name="warming", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stopped.set()
        thread.join()


def warm(store: Store, stopped: threading.Event) -> int:
    """Derive everybody of the oldest clubs as of the end of today; give how many sets that took."""
    with store.read() as connection:
        club_ids = clubs.ids(connection)
    derived = 0
    for club_id in club_ids:
        with store.read() as connection:
            books = open_books(connection, club_id)
            saved = protocols.in_force(connection, club_id)
        derived += sum(len(book.sets) for book in books)
        if derived > MOST_SETS:
            break
        as_of = present_moment(books, clock.now())
        for book in books:
            if stopped.is_set():
                return derived
            state_of(book, saved, as_of)
        squad_state(books, saved, as_of)
    return derived


def _keep_warm(store: Store, stopped: threading.Event) -> None:
    while engine().is_alive():
        if stopped.wait(GLANCE_S):
            return
    while True:
        # A store that does not answer is said to whoever asks for a page; here nobody asked.
        with suppress(SQLAlchemyError):
            warm(store, stopped)
        if stopped.wait(_seconds_to_midnight(clock.now())):
            return


def _seconds_to_midnight(now: datetime) -> float:
    midnight = datetime.combine(now.date() + timedelta(days=1), time.min, UTC)
    return (midnight - now).total_seconds() + 1
