"""What a call can end in.

The tree::

    ApiError                 the service answered with a problem, or could not be reached
    ├── Unreachable          no answer after every retry; sending the same set again is safe
    ├── Refused              the request itself is wrong (4xx); sending it again gives the same answer
    │   ├── Conflict         this client_ref is stored with other content (409)
    │   └── NotAllowed       the key is missing, unknown or lacks the scope (401, 403)
    └── ServiceFault         the service failed (5xx) after every retry
"""

from dataclasses import dataclass
from http import HTTPStatus

from pydantic import BaseModel

__all__ = ["ApiError", "Conflict", "NotAllowed", "Problem", "Refused", "ServiceFault", "Unreachable", "error_for"]


class FieldError(BaseModel):
    """One field that the service names, by JSON Pointer or by query parameter."""

    pointer: str | None = None
    parameter: str | None = None
    code: str = ""
    detail: str = ""


class Problem(BaseModel):
    """The problem details (RFC 9457) of a refusal."""

    status: int
    title: str = ""
    detail: str = ""
    code: str | None = None
    errors: list[FieldError] = []


@dataclass
class ApiError(Exception):
    """Root of every error of this client."""

    message: str
    problem: Problem | None = None
    retryable: bool = False

    def __str__(self) -> str:
        fields = [] if self.problem is None else self.problem.errors
        named = "; ".join(f"{error.pointer or error.parameter or '(whole)'}: {error.detail}" for error in fields)
        reason = named or ("" if self.problem is None else self.problem.detail)
        return f"{self.message} ({reason})" if reason else self.message


class Unreachable(ApiError):
    """The service could not be reached."""


class Refused(ApiError):
    """The service refused the request."""


class Conflict(Refused):
    """The client_ref is stored with other content; the problem names the differing members."""


class NotAllowed(Refused):
    """The key does not allow this."""


class ServiceFault(ApiError):
    """The service failed to answer properly."""


def error_for(problem: Problem) -> ApiError:
    """Return the error that stands for a problem."""
    message = f"{problem.status} {problem.title or HTTPStatus(problem.status).phrase}"
    if problem.status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        return ServiceFault(message, problem, retryable=problem.status == HTTPStatus.SERVICE_UNAVAILABLE)
    kinds: dict[int, type[Refused]] = {409: Conflict, 401: NotAllowed, 403: NotAllowed}
    return kinds.get(problem.status, Refused)(message, problem)
