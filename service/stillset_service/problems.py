"""Every refusal of the service, as exceptions that know how RFC 9457 spells them.

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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from http import HTTPStatus

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
]


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


def _error(error: Fault | ParameterFault) -> dict[str, str]:
    """Write one fault; a query parameter is named in the place of a pointer."""
    if isinstance(error, Fault):
        return {"pointer": error.pointer, "code": error.code, "detail": error.detail}
    return {"parameter": error.parameter, "code": error.code, "detail": error.detail}
