"""An athlete or a squad opened for reading: one snapshot of the store, and what is derived from it when needed."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from fastapi import Request
from sqlalchemy import Connection

from stillset_core.pipeline import AthleteState
from stillset_service import clock
from stillset_service.api.answers import Basis
from stillset_service.api.windows import ViewQuery, computable
from stillset_service.auth.scopes import Access
from stillset_service.books import Book, open_book_of, open_books
from stillset_service.problems import NotFound
from stillset_service.recompute import present_moment, state_of
from stillset_service.store import athletes, attention_answers, protocols, squads
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.attention_answers import AttentionAnswer
from stillset_service.store.engine import Store
from stillset_service.store.protocols import SavedProtocol
from stillset_service.views.board import SquadState, squad_state

__all__ = ["OpenedAthlete", "OpenedSquad", "moment_of", "open_athlete", "open_squad"]


@dataclass(frozen=True)
class OpenedAthlete:
    """One athlete at one revision.

    Not slotted: book and state are computed when first asked for, and not at all for an unchanged answer.
    """

    connection: Connection
    club_id: str
    facts: AthleteFacts
    saved: SavedProtocol
    basis: Basis

    @cached_property
    def book(self) -> Book:
        """Everything on record, from the same snapshot as the facts."""
        return open_book_of(self.connection, self.club_id, self.facts)

    @cached_property
    def state(self) -> AthleteState:
        """Everything derived, as of the moment asked for."""
        return state_of(self.book, self.saved, moment_of(self.basis.query, [self.book]))

    @cached_property
    def answers(self) -> Sequence[AttentionAnswer]:
        """What was answered to the athlete's attention items."""
        return attention_answers.listed(self.connection, self.club_id, self.facts.id)

    @cached_property
    def set_ids(self) -> dict[str, str]:
        """Ids of the sets by client_ref."""
        return {stored.client_ref: stored.id for stored in self.book.sets}


@dataclass(frozen=True)
class OpenedSquad:
    """One squad with its athletes, each at one revision. Not slotted, for the same reason."""

    connection: Connection
    club_id: str
    ref: str
    saved: SavedProtocol
    basis: Basis

    @cached_property
    def state(self) -> SquadState:
        """Everybody in the squad, as of one moment."""
        books = open_books(self.connection, self.club_id, self.ref)
        return squad_state(books, self.saved, moment_of(self.basis.query, books))

    @cached_property
    def answers(self) -> Sequence[AttentionAnswer]:
        """What was answered to the club's attention items."""
        return attention_answers.listed(self.connection, self.club_id)


def moment_of(query: ViewQuery, books: Iterable[Book]) -> datetime:
    """Return the moment of knowledge of a view."""
    if query.as_of is not None:
        return computable(query.as_of)
    return present_moment(books, clock.now())


@contextmanager
def open_athlete(request: Request, access: Access, ref: str, query: ViewQuery) -> Iterator[OpenedAthlete]:
    """Open an athlete of the caller's club.

    Raises
    ------
    NotFound
        When the club has no such athlete.
    """
    store: Store = request.app.state.store
    with store.read() as connection:
        facts = athletes.find(connection, access.club_id, ref)
        if facts is None:
            raise NotFound(f"The club has no athlete {ref!r}.")
        saved = protocols.in_force(connection, access.club_id)
        basis = Basis(request, query, (access.club_id, facts, saved.version))
        yield OpenedAthlete(connection, access.club_id, facts, saved, basis)


@contextmanager
def open_squad(request: Request, access: Access, ref: str, query: ViewQuery) -> Iterator[OpenedSquad]:
    """Open a squad of the caller's club.

    Raises
    ------
    NotFound
        When the club has no such squad.
    """
    store: Store = request.app.state.store
    with store.read() as connection:
        squad = squads.find(connection, access.club_id, ref)
        if squad is None:
            raise NotFound(f"The club has no squad {ref!r}.")
        saved = protocols.in_force(connection, access.club_id)
        everybody = athletes.listed(connection, access.club_id, squad.ref)
        # An answer about an instrument is no revision of any athlete.
        newest = attention_answers.newest(connection, access.club_id)
        basis = Basis(request, query, (access.club_id, saved.version, newest, *everybody))
        yield OpenedSquad(connection, access.club_id, squad.ref, saved, basis)
