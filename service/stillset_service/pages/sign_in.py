"""Who may see the pages: a key in the header or a session cookie, and the page that makes one.

A form is taken only from a page of this service: the cookie is SameSite=Strict, and signing in or
out asks in addition where the request came from, so that no other site can sign somebody in or out.
"""

from urllib.parse import parse_qs, urlsplit

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from stillset_service.auth.keys import Keyring
from stillset_service.auth.scopes import Access, Scope
from stillset_service.pages import addresses
from stillset_service.pages.rendering import HEADERS, page
from stillset_service.pages.session import COOKIE, SESSION, opened, signed

__all__ = ["router", "sign_in_page", "viewer"]

router = APIRouter(include_in_schema=False)

MAX_FORM_BYTES = 4096
"""A key and an address are shorter (a choice, no source)."""
NOT_A_KEY = "That key is not known here, or it was revoked."
NOT_READING = "That key may not read. Ask for one with the scope read."
FROM_ELSEWHERE = "The form came from another site. Open this page here and try again."
SEE_OTHER = 303


async def viewer(request: Request) -> Access | None:
    """Tell who looks at a page; None for somebody without a key that may read."""
    access = await _from_header(request) or await _from_cookie(request)
    return access if access is not None and Scope.READ in access.scopes else None


def sign_in_page(request: Request, refused: str = "") -> Response:
    """Make the sign-in page, which shows no data and leads back to where it was met."""
    path = request.url.path if request.method == "GET" else addresses.BOARD
    here = path + (f"?{request.url.query}" if request.url.query else "")
    wanted = addresses.BOARD if path == addresses.LOGIN else here
    context = {"next": addresses.within(wanted), "refused": refused, "hours": int(SESSION.total_seconds() // 3600)}
    response = page(request, "sign_in.html", context, status=200 if path == addresses.LOGIN and not refused else 401)
    if response.status_code == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    return response


@router.get(addresses.LOGIN)
async def show_sign_in(request: Request) -> Response:
    """Show the sign-in page."""
    return sign_in_page(request)


@router.post(addresses.LOGIN)
async def sign_in(request: Request) -> Response:
    """Exchange a key for a session cookie."""
    if not _from_here(request):
        return sign_in_page(request, FROM_ELSEWHERE)
    form = await _form(request)
    token = form.get("key", "").strip()
    keyring: Keyring = request.app.state.keyring
    access = await run_in_threadpool(keyring.access, token) if token else None
    if access is None:
        return sign_in_page(request, NOT_A_KEY)
    if Scope.READ not in access.scopes:
        return sign_in_page(request, NOT_READING)
    cookie = await run_in_threadpool(signed, request.app.state.store, access)
    if cookie is None:
        return sign_in_page(request, NOT_A_KEY)
    response = RedirectResponse(
        addresses.within(form.get("next", addresses.BOARD)), status_code=SEE_OTHER, headers=HEADERS
    )
    response.set_cookie(
        COOKIE,
        cookie,
        max_age=int(SESSION.total_seconds()),
        path="/",
        secure=request.url.scheme == "https",
        httponly=True,
        samesite="strict",
    )
    return response


@router.post(addresses.LOGOUT)
async def sign_out(request: Request) -> Response:
    """End the session in this browser."""
    if not _from_here(request):
        return sign_in_page(request, FROM_ELSEWHERE)
    response = RedirectResponse(addresses.LOGIN, status_code=SEE_OTHER, headers=HEADERS)
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    return response


async def _from_header(request: Request) -> Access | None:
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() != "bearer" or not token.strip():
        return None
    keyring: Keyring = request.app.state.keyring
    return keyring.remembered(token.strip()) or await run_in_threadpool(keyring.access, token.strip())


async def _from_cookie(request: Request) -> Access | None:
    cookie = request.cookies.get(COOKIE)
    return await run_in_threadpool(opened, request.app.state.store, cookie) if cookie else None


def _from_here(request: Request) -> bool:
    """Whether a form came from a page of this service; a client that is no browser says nothing and is let through."""
    origin = request.headers.get("origin")
    return origin is None or (origin != "null" and urlsplit(origin).netloc == request.headers.get("host"))


async def _form(request: Request) -> dict[str, str]:
    """Read the fields of a small form; one that is too large or garbled has none."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > MAX_FORM_BYTES:
            return {}
    try:
        fields = parse_qs(body.decode("ascii"), keep_blank_values=True, strict_parsing=True, errors="strict")
    except ValueError:
        return {}
    return {name: values[0] for name, values in fields.items()}
