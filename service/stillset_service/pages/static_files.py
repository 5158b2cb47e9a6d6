"""The static files of the pages: kept by browsers for ever, because their address changes with their content."""

import gzip
import mimetypes
from functools import cache

from fastapi import APIRouter, Request
from starlette.responses import Response

from stillset_service.pages import addresses
from stillset_service.pages.rendering import HEADERS

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

FOR_EVER = "public, max-age=31536000, immutable"


@router.get("/static/{digest}/{name:path}")
def show_static(request: Request, digest: str, name: str) -> Response:
    """Give a static file; one of another digest is not there, so that nothing old is kept under a new address."""
    if digest != addresses.digest() or name not in _names():
        return Response(status_code=404, headers=HEADERS)
    zipped = "gzip" in request.headers.get("accept-encoding", "")
    headers = {**HEADERS, "Cache-Control": FOR_EVER, "Vary": "Accept-Encoding"}
    if zipped:
        headers["Content-Encoding"] = "gzip"
    kind = mimetypes.guess_type(name)[0] or "text/plain"
    return Response(_content(name, zipped=zipped), media_type=kind, headers=headers)


@cache
def _names() -> frozenset[str]:
    folder = addresses.STATIC_FOLDER
    return frozenset(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


@cache
def _content(name: str, *, zipped: bool) -> bytes:
    content = (addresses.STATIC_FOLDER / name).read_bytes()
    return gzip.compress(content, mtime=0) if zipped else content
