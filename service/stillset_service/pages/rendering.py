"""How a page leaves the service: template, headers, nothing from elsewhere.

The Content-Security-Policy permits what stillset itself serves and nothing else: no inline script
or style, no evaluation of text as code, no framing.
"""

import gzip
from collections.abc import Mapping
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from stillset_service.pages import addresses

__all__ = ["HEADERS", "page"]

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "private, no-store",
}

_ENVIRONMENT = Environment(
    loader=FileSystemLoader(Path(__file__).parent / "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_ENVIRONMENT.globals["static"] = addresses.static
_ENVIRONMENT.globals["addresses"] = addresses


def page(request: Request, template: str, context: Mapping[str, object], status: int = 200) -> Response:
    """Render a template to a response with the headers of every page, compressed for a client that takes it."""
    body = _ENVIRONMENT.get_template(template).render(context).encode()
    headers = {**HEADERS, "Vary": "Accept-Encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        body = gzip.compress(body, compresslevel=5)
        headers["Content-Encoding"] = "gzip"
    return HTMLResponse(body, status_code=status, headers=headers)
