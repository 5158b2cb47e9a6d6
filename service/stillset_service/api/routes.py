"""What all routes of the write side share: the bare route, and the problems that they document."""

from collections.abc import Callable, Coroutine
from http import HTTPStatus
from typing import Any

from fastapi import Request
from fastapi.responses import Response
from fastapi.routing import APIRoute

__all__ = ["OBJECT", "PROBLEM", "BareRoute", "answers", "problems"]

OBJECT = {"type": "object"}

_SENTENCES = {
    401: "No key, or one that is not valid.",
    403: "The key lacks the scope.",
    404: "Nothing there, or nothing of this club.",
    406: "The Accept header names none of the formats.",
    409: "Does not fit what is stored.",
    413: "The body is too large.",
    415: "The Content-Type or Content-Encoding is not taken.",
    422: "Malformed; errors names each fault.",
    503: "The store is unavailable.",
    507: "The store is full.",
}
_ERROR = {
    "type": "object",
    "properties": {name: {"type": "string"} for name in ("pointer", "parameter", "code", "detail")},
    "required": ["code", "detail"],
}
PROBLEM = {
    "type": "object",
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "code": {"type": "string"},
        "detail": {"type": "string"},
        "errors": {"type": "array", "items": _ERROR},
    },
    "required": ["type", "title", "status", "code", "detail", "errors"],
}


class BareRoute(APIRoute):
    """A route whose function is given the request and nothing else: no dependencies are resolved on the hot path."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Give the function itself."""
        handler: Callable[[Request], Coroutine[Any, Any, Response]] = self.endpoint
        return handler


def problems(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Document the problems of a route, for the OpenAPI document; every route may answer 401, 403 and 503."""
    return {
        status: {
            "description": _SENTENCES[status],
            "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
        for status in sorted({401, 403, 503, *statuses})
    }


def answers(schema: dict[str, Any], *statuses: int) -> dict[int | str, dict[str, Any]]:
    """Document the answers of a route that is no problem, for the OpenAPI document; 200 unless told otherwise."""
    return {
        status: {"description": HTTPStatus(status).phrase, "content": {"application/json": {"schema": schema}}}
        for status in statuses or (200,)
    }
