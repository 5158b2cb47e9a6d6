"""HEAD wherever there is GET: the same status and headers, and no body (RFC 9110, section 9.3.2)."""

from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["HeadAsGet"]


class HeadAsGet:
    """Answers HEAD as the GET of its path, without the body. Plain ASGI."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass every other request through."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self._app(scope, receive, send)
            return

        async def bodiless(message: Message) -> None:
            await send({**message, "body": b""} if message["type"] == "http.response.body" else message)

        asked = {**scope, "method": "GET"}
        await self._app(asked, receive, bodiless)
        if "route" in asked:
            scope["route"] = asked["route"]  # for whoever counts requests by their route
