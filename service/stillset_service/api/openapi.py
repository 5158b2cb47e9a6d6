"""The OpenAPI document: what routes cannot say of themselves, said of all of them at once."""

from collections.abc import Iterator
from typing import Any

from fastapi import FastAPI

from stillset_service.api.routes import PROBLEM, problems

__all__ = ["install_openapi"]

_KEY = {"type": "http", "scheme": "bearer", "description": "A key of the club: `ss_…`."}
_METHODS = ("get", "put", "post", "patch", "delete")


def install_openapi(app: FastAPI) -> None:
    """Add the key and the problems that every route under /v1 has in common to the document of an application."""
    plain = app.openapi

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            document = plain()
            components = document.setdefault("components", {})
            components["securitySchemes"] = {"key": _KEY}
            components.setdefault("schemas", {})["Problem"] = PROBLEM
            for path, operation in _operations(document):
                _complete(path, operation)
        return plain()

    # FastAPI's own way to extend the document.
    app.openapi = openapi  # type: ignore[method-assign]


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, item in document["paths"].items():
        if path.startswith("/v1/"):
            yield from ((path, item[method]) for method in _METHODS if method in item)


def _complete(path: str, operation: dict[str, Any]) -> None:
    """Say that an operation needs a key, and which problems any such operation may answer with."""
    operation["security"] = [{"key": []}]
    common = problems(404, 422) if "{" in path else problems(422)
    operation["responses"] = {str(status): answer for status, answer in common.items()} | operation["responses"]
