"""What is derived of an athlete, computed once and remembered."""

from datetime import datetime

from stillset_service.books import Book
from stillset_service.store.protocols import SavedProtocol

__all__ = ["state_of"]


def state_of(book: Book, saved: SavedProtocol, as_of: datetime) -> object:
    """Derive the state of an athlete as of a moment, or remember it.

    Remembered by athlete, revision, protocol and moment; the judged sets apart from it, so that another moment of
    the same book costs no judging.
    """
    raise NotImplementedError
