"""How a page leaves the service: template, headers, nothing from elsewhere.

The Content-Security-Policy permits what stillset itself serves and nothing else: no inline script
or style, no evaluation of text as code, no framing.
"""

import gzip
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from stillset_service.pages import addresses
from stillset_service.pages.wording import day_words

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

DATE = re.compile(r"(?<![\w-])\d{4}-\d{2}-\d{2}(?![\w-])", re.ASCII)
BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:%|N|N·m|N·s|kPa|s|of 10)(?!\w))")
NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"


def kept_together(text: str) -> Markup:
    """Escape a sentence, write its ISO dates as people do, and keep numbers with their units on one line."""
    safe = str(escape(BEFORE_UNIT.sub(NO_BREAK_SPACE, text)))
    return Markup(DATE.sub(_date_element, safe))  # noqa: S704 (escaped on the line above; the dates are digits and hyphens)


def _date_element(found: re.Match[str]) -> str:
    try:
        words = day_words(date.fromisoformat(found[0]))
    except ValueError:
        return found[0]
    return f'<time class="nowrap" datetime="{found[0]}">{words}</time>'


_ENVIRONMENT = Environment(
    loader=FileSystemLoader(Path(__file__).parent / "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_ENVIRONMENT.filters["kept"] = kept_together
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
