"""Paths that cannot name anything, turned away before a store is asked."""

from starlette.types import ASGIApp, Receive, Scope, Send

from stillset_service.api.problems import problem_response
from stillset_service.problems import NotFound

__all__ = ["NameablePaths"]


class NameablePaths:
    """Answers 404 for a path with U+0000: no ref or id holds one, and PostgreSQL refuses even to look. Plain ASGI."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass every other request through."""
        if scope["type"] == "http" and "\0" in scope["path"]:
            await problem_response(NotFound("No path holds U+0000."))(scope, receive, send)
            return
        await self._app(scope, receive, send)
