"""Every address of the pages, made in one place.

A static file's address carries a digest of the content of all of them, so that browsers keep them
for ever and fetch them again only when something has changed.
"""

import hashlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from urllib.parse import quote, urlencode

__all__ = [
    "BOARD",
    "LOGIN",
    "LOGOUT",
    "STATIC_FOLDER",
    "athlete",
    "board",
    "chart",
    "digest",
    "set_part",
    "static",
    "within",
]

STATIC_FOLDER = Path(__file__).parent / "static"
BOARD = "/"
LOGIN = "/login"
LOGOUT = "/logout"
DIGEST_LETTERS = 12


def board(query: Mapping[str, str]) -> str:
    """Address of the board with its filters and order; empty ones are left out."""
    return BOARD + _query(query)


def athlete(ref: str, query: Mapping[str, str] | None = None, part: str = "") -> str:
    """Address of an athlete's page, and of a part of it."""
    return f"/athletes/{quote(ref, safe='')}{_query(query or {})}" + (f"#{quote(part)}" if part else "")


def chart(ref: str, query: Mapping[str, str]) -> str:
    """Address of the drawn picture of an athlete's charts."""
    return f"/athletes/{quote(ref, safe='')}/chart.svg{_query(query)}"


def set_part(client_ref: str) -> str:
    """Name the entry of a set in the ledger: any text of a client, made safe for a fragment."""
    return "set-" + hashlib.sha256(client_ref.encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LETTERS]


def static(name: str) -> str:
    """Address of a static file, with the digest of all of them: they refer to one another by name."""
    return f"/static/{digest()}/{name}"


@cache
def digest() -> str:
    """Digest of the content of every static file, short."""
    together = hashlib.sha256()
    for path in sorted(STATIC_FOLDER.rglob("*")):
        if path.is_file():
            together.update(path.name.encode() + b"\0" + path.read_bytes())
    return together.hexdigest()[:DIGEST_LETTERS]


def within(path: str) -> str:
    """Give back a path of this service that a form named, or the board for anything else.

    A second slash or a backslash at the start would lead a browser to another host.
    """
    inside = path.startswith("/") and not path.startswith(("//", "/\\")) and "\\" not in path and path.isprintable()
    return path if inside else BOARD


def _query(query: Mapping[str, str]) -> str:
    chosen = {name: value for name, value in query.items() if value}
    return f"?{urlencode(chosen)}" if chosen else ""
