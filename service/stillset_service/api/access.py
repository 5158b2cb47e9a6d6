"""The key of a request, as the dependency that every route under /v1 declares."""

from collections.abc import Awaitable, Callable

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from stillset_service.api.headers import header_of
from stillset_service.auth.keys import Keyring
from stillset_service.auth.scopes import Access, Scope
from stillset_service.problems import Forbidden, Unauthorized

__all__ = ["access_of", "require"]


async def access_of(request: Request, scope: Scope) -> Access:
    """Verify the key of a request and that it has a scope."""
    scheme, _, token = header_of(request, b"authorization").partition(" ")
    token = token.strip()
    if not token or scheme.lower() != "bearer":
        raise Unauthorized
    keyring: Keyring = request.app.state.keyring
    access = keyring.remembered(token) or await run_in_threadpool(keyring.access, token)
    if access is None:
        raise Unauthorized
    if scope not in access.scopes:
        raise Forbidden(f"This key lacks the scope {scope.value}.")
    return access


def require(scope: str) -> Callable[[Request], Awaitable[Access]]:
    """Make the dependency that gives the access of a request: ``Annotated[Access, Depends(require("read"))]``."""
    needed = Scope(scope)

    async def dependency(request: Request) -> Access:
        return await access_of(request, needed)

    return dependency
