"""Every refusal as RFC 9457 problem details, from one handler.

The tree::

    Problem                  any refusal; carries status, code, detail and errors
    ├── Unauthorized         401, with WWW-Authenticate: Bearer
    ├── Forbidden            403, a scope is missing
    ├── NotFound             404, also for another club's things
    ├── Conflict             409
    ├── TooLarge             413
    ├── UnsupportedMedia     415
    └── Unprocessable        422, malformed; its errors name every fault
"""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from http import HTTPStatus

import orjson
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from stillset_core.errors import MAX_FAULTS, Fault

__all__ = [
    "Conflict",
    "Forbidden",
    "NotFound",
    "ParameterFault",
    "Problem",
    "TooLarge",
    "Unauthorized",
    "Unprocessable",
    "UnsupportedMedia",
    "install_problems",
    "problem_of",
    "problem_response",
]

RETRY_AFTER_S = 5
"""What a client is told to wait while the store is unavailable, seconds (a choice, no source)."""
DISK_FULL = "53100"
"""PostgreSQL's SQLSTATE for a full disk (its manual, appendix A)."""


@dataclass(frozen=True, slots=True)
class ParameterFault:
    """One thing that is wrong with a query or path parameter."""

    parameter: str
    code: str
    detail: str


class Problem(Exception):
    """A refusal with its status, stable code, sentence and list of faults."""

    status = 400
    code = "refused"

    def __init__(
        self,
        detail: str,
        errors: Sequence[Fault | ParameterFault] = (),
        *,
        code: str | None = None,
        status: int | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.detail = detail
        self.errors = tuple(errors[:MAX_FAULTS])
        self.code = code or type(self).code
        self.status = status or type(self).status
        self.headers = dict(headers or {})

    def body(self) -> dict[str, object]:
        """Write the problem as the members of ``application/problem+json``."""
        return {
            "type": "about:blank",
            "title": HTTPStatus(self.status).phrase,
            "status": self.status,
            "code": self.code,
            "detail": self.detail,
            "errors": [_error(error) for error in self.errors],
        }


class Unauthorized(Problem):
    """No key, or one that is not valid."""

    status = 401
    code = "unauthorized"

    def __init__(self, detail: str = "This needs a valid key: Authorization: Bearer ss_….") -> None:
        super().__init__(detail, headers={"WWW-Authenticate": "Bearer"})


class Forbidden(Problem):
    """The key lacks a scope."""

    status = 403
    code = "missing-scope"


class NotFound(Problem):
    """Nothing there, or nothing of this club."""

    status = 404
    code = "not-found"


class Conflict(Problem):
    """The request does not fit what is stored."""

    status = 409
    code = "conflict"


class TooLarge(Problem):
    """A body beyond its limit."""

    status = 413
    code = "too-large"


class UnsupportedMedia(Problem):
    """A Content-Type or Content-Encoding that is not taken."""

    status = 415
    code = "unsupported-media-type"


class Unprocessable(Problem):
    """A malformed request; ``errors`` names each fault."""

    status = 422
    code = "malformed"


def problem_response(problem: Problem) -> Response:
    """Make the answer of a problem."""
    return Response(
        orjson.dumps(problem.body()),
        status_code=problem.status,
        headers=problem.headers,
        media_type="application/problem+json",
    )


def problem_of(error: Exception) -> Problem:
    """Turn any exception into the problem that the caller is told about."""
    if isinstance(error, Problem):
        return error
    if isinstance(error, HTTPException):
        return _of_http(error)
    if isinstance(error, RequestValidationError):
        return Unprocessable("The request has faults.", _faults(error))
    if isinstance(error, (SQLAlchemyError, sqlite3.Error)):
        return _of_store(error)
    return Problem("Something went wrong inside the service.", code="internal", status=500)


def install_problems(app: FastAPI) -> None:
    """Answer every refusal and every fault of this application with problem details."""

    async def handle(_request: Request, error: Exception) -> Response:
        return problem_response(problem_of(error))

    for kind in (
        Problem,
        HTTPException,
        RequestValidationError,
        SQLAlchemyError,
        sqlite3.Error,
        Exception,
    ):
        app.add_exception_handler(kind, handle)


def _error(error: Fault | ParameterFault) -> dict[str, str]:
    """Write one fault; a query parameter is named in the place of a pointer."""
    if isinstance(error, Fault):
        return {"pointer": error.pointer, "code": error.code, "detail": error.detail}
    return {"parameter": error.parameter, "code": error.code, "detail": error.detail}


_HTTP_CODES = {404: "not-found", 405: "method-not-allowed", 406: "not-acceptable"}


def _of_http(error: HTTPException) -> Problem:
    code = _HTTP_CODES.get(error.status_code, "refused")
    return Problem(str(error.detail), code=code, status=error.status_code, headers=error.headers)


def _faults(error: RequestValidationError) -> list[Fault | ParameterFault]:
    """Name each fault that FastAPI found in path or query."""
    faults: list[Fault | ParameterFault] = []
    for found in error.errors():
        place, *rest = found["loc"]
        detail = str(found["msg"])
        if place == "body":
            faults.append(Fault("".join(f"/{step}" for step in rest), str(found["type"]), detail))
        else:
            faults.append(ParameterFault(str(rest[0]) if rest else str(place), str(found["type"]), detail))
    return faults


def _of_store(error: Exception) -> Problem:
    """Tell a full store from one that is unavailable, and both from our own faults."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    if "database or disk is full" in str(cause) or getattr(cause, "sqlstate", None) == DISK_FULL:
        return Problem("The store is full; nothing was kept of this request.", code="store-full", status=507)
    if isinstance(error, (OperationalError, InterfaceError, PoolTimeoutError, sqlite3.OperationalError)):
        return Problem(
            "The store is unavailable; nothing was kept of this request.",
            code="store-unavailable",
            status=503,
            headers={"Retry-After": str(RETRY_AFTER_S)},
        )
    return Problem("Something went wrong inside the service.", code="internal", status=500)
