"""What happens at every page: who looks, and what is shown when the store cannot be reached."""

from collections.abc import Callable

from fastapi import Request
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from stillset_service.auth.scopes import Access
from stillset_service.pages.rendering import page
from stillset_service.pages.sign_in import sign_in_page, viewer

__all__ = ["shown"]

UNREACHABLE = "The store of this service cannot be reached just now. Nothing is lost: try again in a moment."
RETRY_AFTER_S = "5"


async def shown(request: Request, make: Callable[[Access], Response]) -> Response:
    """Make a page for a viewer who may see it, outside the event loop; the sign-in page for anybody else."""
    try:
        access = await viewer(request)
        return sign_in_page(request) if access is None else await run_in_threadpool(make, access)
    except (DBAPIError, PoolTimeoutError):
        context = {"signed_in": False, "heading": "Not reachable", "text": UNREACHABLE}
        response = page(request, "message.html", context, status=503)
        response.headers["Retry-After"] = RETRY_AFTER_S
        return response
