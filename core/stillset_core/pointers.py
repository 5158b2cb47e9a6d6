"""JSON Pointers (RFC 6901)."""

from collections.abc import Iterable

__all__ = ["pointer_to"]


def pointer_to(path: Iterable[str | int]) -> str:
    """Pointer to a place in a document.

    Examples
    --------
    >>> pointer_to(("reps", 0, "a/b"))
    '/reps/0/a~1b'
    """
    return "".join(f"/{step}" if isinstance(step, int) else f"/{_escaped(step)}" for step in path)


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")
