"""Problem details (RFC 9457) for every refusal and every fault, from one handler."""

import sqlite3
from http import HTTPStatus

import orjson
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from stillset_core.errors import Fault
from stillset_service.problems import (
    ParameterFault,
    Problem,
    Unprocessable,
)

__all__ = ["install_problems", "problem_of", "problem_response"]

RETRY_AFTER_S = 5
"""What a client is told to wait while the store is unavailable, seconds (a choice, no source)."""
DISK_FULL = "53100"
"""PostgreSQL's SQLSTATE for a full disk (its manual, appendix A)."""


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
    if isinstance(error, ClientDisconnect):
        return Problem("The client went away before the body was complete.", code="client-gone")
    if isinstance(error, RequestValidationError):
        return Unprocessable("The request has faults.", _faults(error))
    if isinstance(error, (SQLAlchemyError, sqlite3.Error)):
        return _of_store(error)
    return Problem("Something went wrong inside the service.", code="internal", status=500)


def install_problems(app: FastAPI) -> None:
    """Answer every refusal and every fault of this application with problem details."""

    async def handle(request: Request, error: Exception) -> Response:
        answer = problem_response(problem_of(error))
        if answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
            _name_all_methods(app, request, answer)
        return answer

    for kind in (
        Problem,
        HTTPException,
        ClientDisconnect,
        RequestValidationError,
        SQLAlchemyError,
        sqlite3.Error,
        Exception,
    ):
        app.add_exception_handler(kind, handle)


def _name_all_methods(app: FastAPI, request: Request, answer: Response) -> None:
    """Allow every method of the path: the router names those of the first route that it met only."""
    methods = app.openapi()["paths"].get(getattr(request.scope.get("route"), "path", None))
    if methods is not None:
        allowed = {method.upper() for method in methods} | ({"HEAD"} if "get" in methods else set())
        answer.headers["Allow"] = ", ".join(sorted(allowed))


_HTTP_CODES = {404: "not-found", 405: "method-not-allowed", 406: "not-acceptable"}


def _of_http(error: HTTPException) -> Problem:
    code = _HTTP_CODES.get(error.status_code, "refused")
    return Problem(str(error.detail), code=code, status=error.status_code, headers=error.headers)


def _faults(error: RequestValidationError) -> list[Fault | ParameterFault]:
    """Name each fault that FastAPI found in path or query."""
    faults: list[Fault | ParameterFault] = []
    for found in error.errors():
        place, *rest = found["loc"]
        detail = str(found["msg"]).removeprefix("Value error, ")
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
