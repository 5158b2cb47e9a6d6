"""What the pages lay out: the athletes of one club with everything derived of them, as of the end of the day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request

from stillset_core.attention import AttentionItem, attention_of
from stillset_core.protocol import Protocol
from stillset_service import clock
from stillset_service.auth.scopes import Access
from stillset_service.books import Book, open_book, open_books
from stillset_service.pages.wording import name_words
from stillset_service.recompute import present_moment, state_of
from stillset_service.store import clubs, protocols, squads
from stillset_service.store.engine import Store
from stillset_service.store.protocols import SavedProtocol
from stillset_service.views.board import BoardEntry, SquadState, squad_state
from stillset_service.views.periods import periods_of

__all__ = ["Desk", "OneAthlete", "desk_of", "one_of"]


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything a page needs, read in one snapshot.

    ``entries`` holds the athletes asked for; ``attention`` the items of the whole club, strongest first, because an
    instrument is judged by its athletes together.
    """

    club: str
    protocol: Protocol
    as_of: datetime
    entries: Sequence[BoardEntry]
    attention: Sequence[AttentionItem]
    names: Mapping[str, str]
    squads: Sequence[str]

    @property
    def any_sets(self) -> bool:
        """Whether any athlete on the desk has a set."""
        return any(entry.book.sets for entry in self.entries)


def desk_of(request: Request, access: Access, ref: str | None = None) -> Desk:
    """Lay out a club, or one athlete of it.

    Parameters
    ----------
    request : Request
        Carries the application's store.
    access : Access
        Names the club; nothing of another one is read.
    ref : str or None
        One athlete only; a ref that the club does not have gives a desk without entries.
    """
    store: Store = request.app.state.store
    with store.read() as connection:
        books = open_books(connection, access.club_id)
        saved = protocols.in_force(connection, access.club_id)
        club = clubs.name(connection, access.club_id)
        squad_refs = [squad.ref for squad in squads.listed(connection, access.club_id)]
    state = squad_state(books, saved, present_moment(books, clock.now()))
    entries = state.entries
    if ref is not None:
        entries = tuple(entry for entry in entries if entry.book.athlete.ref == ref) or _archived(
            books, ref, saved, state
        )
    return Desk(
        club=club,
        protocol=saved.protocol,
        as_of=state.as_of,
        entries=entries,
        attention=state.attention,
        names={book.athlete.ref: name_words(book.athlete.name, book.athlete.ref) for book in books},
        squads=squad_refs,
    )


@dataclass(frozen=True, slots=True)
class OneAthlete:
    """One athlete by itself; ``basis`` names everything that the state depends on."""

    entry: BoardEntry
    protocol: Protocol
    basis: tuple[str, int, int, datetime]


def one_of(request: Request, access: Access, ref: str) -> OneAthlete | None:
    """Lay out one athlete without the club, and so without attention; None for a ref that the club does not have."""
    store: Store = request.app.state.store
    with store.read() as connection:
        book = open_book(connection, access.club_id, ref)
        saved = protocols.in_force(connection, access.club_id)
    if book is None:
        return None
    as_of = present_moment([book], clock.now())
    basis = (book.athlete.id, book.revision, saved.version, as_of)
    return OneAthlete(BoardEntry(book, state_of(book, saved, as_of), ()), saved.protocol, basis)


def _archived(books: Sequence[Book], ref: str, saved: SavedProtocol, squad: SquadState) -> tuple[BoardEntry, ...]:
    """Give the entry of an athlete who is no longer on the board, with what the athlete's own sets say."""
    return tuple(
        BoardEntry(book, state, attention_of(ref, state, saved.protocol, periods_of(book.periods)))
        for book in books
        if book.athlete.ref == ref
        for state in (state_of(book, saved, squad.as_of),)
    )
