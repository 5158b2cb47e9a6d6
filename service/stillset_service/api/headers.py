"""One header of a request, without the copy of all of them that a framework makes."""

from fastapi import Request

__all__ = ["header_of"]


def header_of(request: Request, name: bytes) -> str:
    """Give the value of a header, empty where it is absent; ``name`` is in lower case, as servers hand names on."""
    for key, value in request.scope["headers"]:
        if key == name:
            text: str = value.decode("latin-1")
            return text
    return ""
