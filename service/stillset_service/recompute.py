"""What is derived of an athlete, computed once and remembered."""

from collections.abc import Iterable
from datetime import UTC, datetime, time

from stillset_core.history import judge_history
from stillset_core.judged import JudgedSet
from stillset_core.pipeline import AthleteState, derive_from_judged
from stillset_service.books import Book
from stillset_service.memory import Memory
from stillset_service.store.protocols import SavedProtocol

__all__ = ["default_as_of", "judged_of", "present_moment", "state_of"]

Input = tuple[str, int, int]
"""Everything that judging depends on: the athlete's id and revision, and the version of the protocol."""

_JUDGED: Memory[Input, tuple[JudgedSet, ...]] = Memory(capacity=100_000)
"""Weighed by number of sets."""
_STATES: Memory[tuple[Input, datetime], AthleteState] = Memory(capacity=100_000)
"""Weighed by number of sets."""


def default_as_of(now: datetime, last_performed_at: datetime | None) -> datetime:
    """Return the moment of knowledge when none is asked for.

    The end of the current UTC day, so that answers and their tags hold still for a day; later when
    a set was performed later than that by its own clock.
    """
    end_of_day = datetime.combine(now.astimezone(UTC).date(), time.max, UTC)
    return end_of_day if last_performed_at is None else max(end_of_day, last_performed_at.astimezone(UTC))


def present_moment(books: Iterable[Book], now: datetime) -> datetime:
    """Return the default moment of knowledge of some athletes together."""
    last = max((book.active[-1].performed_at for book in books if book.active), default=None)
    return default_as_of(now, last)


def state_of(book: Book, saved: SavedProtocol, as_of: datetime) -> AthleteState:
    """Derive the state of an athlete as of a moment, or remember it.

    Judged sets are remembered apart, so that another moment of the same book costs no judging.
    """
    key = (_input(book, saved), as_of)
    state = _STATES.get(key)
    if state is None:
        state = derive_from_judged(judged_of(book, saved), saved.protocol, book.athlete.dominant_side, as_of)
        _STATES.put(key, state, weight=1 + len(state.judged))
    return state


def judged_of(book: Book, saved: SavedProtocol) -> tuple[JudgedSet, ...]:
    """Judge the active sets of an athlete, or remember how they were judged; oldest first."""
    key = _input(book, saved)
    judged = _JUDGED.get(key)
    if judged is None:
        judged = judge_history(book.active, book.positions, saved.protocol)
        _JUDGED.put(key, judged, weight=1 + len(judged))
    return judged


def _input(book: Book, saved: SavedProtocol) -> Input:
    return (book.athlete.id, book.revision, saved.version)
