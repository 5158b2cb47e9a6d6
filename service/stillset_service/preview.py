"""What another protocol would change: standings counted, nothing stored."""

from collections import Counter
from collections.abc import Iterable

from stillset_core.history import judge_history
from stillset_core.judging.outcome import Standing
from stillset_core.protocol import Protocol
from stillset_service.books import Book
from stillset_service.recompute import judged_of
from stillset_service.store.protocols import SavedProtocol

__all__ = ["preview_of"]

Json = dict[str, object]
Moves = Counter[tuple[Standing, Standing]]


def preview_of(books: Iterable[Book], saved: SavedProtocol, proposed: Protocol) -> Json:
    """Count how standings would move, one for each direction of each set, over all and by athlete.

    Parameters
    ----------
    books : iterable of Book
        Of the club.
    saved : SavedProtocol
        In force.
    proposed : Protocol
    """
    by_athlete = [(book.athlete.ref, _moves(book, saved, proposed)) for book in books]
    total: Moves = Counter()
    for _, moves in by_athlete:
        total += moves
    return {
        "changes": _changes(total),
        "athletes": [{"athlete": ref, "changes": _changes(moves)} for ref, moves in by_athlete if moves],
    }


def _moves(book: Book, saved: SavedProtocol, proposed: Protocol) -> Moves:
    before = judged_of(book, saved)
    after = judge_history(book.active, book.positions, proposed)
    return Counter(
        (old.standing, new.standing)
        for one, other in zip(before, after, strict=True)
        for old, new in zip(one.outcome, other.outcome, strict=True)
        if old.standing is not new.standing
    )


def _changes(moves: Moves) -> list[Json]:
    order = list(Standing)
    moved = sorted(moves.items(), key=lambda item: (order.index(item[0][0]), order.index(item[0][1])))
    return [{"from": old.value, "to": new.value, "count": count} for (old, new), count in moved]
