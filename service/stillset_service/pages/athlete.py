"""The page of one athlete: strength over time with what lies behind it, balance, load, pain and the ledger of sets."""

import json
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from starlette.responses import Response

from stillset_core.judging.outcome import Standing
from stillset_core.trend import SeriesTrend
from stillset_service.memory import Memory
from stillset_service.pages import addresses
from stillset_service.pages.athlete_parts import (
    balance_lines,
    earlier_positions,
    fact_words,
    method_words,
    pain_lines,
    period_lines,
    position_card,
    series_words,
    strength_lines,
    trend_words,
    week_lines,
)
from stillset_service.pages.attention import item_words
from stillset_service.pages.chart_data import SPANS, chart_data
from stillset_service.pages.chart_spec import THEMES, WIDTHS, compiled, drawn, settings_of
from stillset_service.pages.desk import Desk, OneAthlete, desk_of, one_of
from stillset_service.pages.ledger import ledger_page
from stillset_service.pages.rendering import HEADERS, page
from stillset_service.pages.visits import shown
from stillset_service.pages.wording import (
    STANDING_WORDS,
    code_words,
    day_words,
    name_words,
)
from stillset_service.views.board import BoardEntry
from stillset_service.views.sets import sets_seen

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

_DRAWN: Memory[tuple[str | int | datetime, ...], str] = Memory(capacity=200)
"""Drawn pictures by everything that they depend on."""
SPAN_WORDS = {"all": "everything", "26w": "last 26 weeks", "12w": "last 12 weeks"}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several ways to see the page."""

    words: str
    href: str
    current: bool


@router.get("/athletes/{ref}")
async def show_athlete(request: Request, ref: str) -> Response:
    """Show one athlete of the viewer's club."""
    query = dict(request.query_params)
    return await shown(request, lambda access: athlete_page(request, desk_of(request, access, ref), query))


@router.get("/athletes/{ref}/chart.svg")
async def show_chart(request: Request, ref: str) -> Response:
    """Give the charts of one series of an athlete as a drawn picture."""
    query = dict(request.query_params)
    return await shown(request, lambda access: chart_picture(one_of(request, access, ref), query))


def athlete_page(request: Request, desk: Desk, query: dict[str, str]) -> Response:
    """Make the page of the athlete on the desk."""
    if not desk.entries:
        text = f"This club has no athlete with the ref {request.path_params['ref']}."
        return page(request, "message.html", {"signed_in": True, "heading": "Not found", "text": text}, status=404)
    entry = desk.entries[0]
    book, state = entry.book, entry.state
    ref = book.athlete.ref
    today = desk.as_of.date()
    series = _series_number(query, entry)
    span = query["span"] if query.get("span") in SPANS else "all"
    standing = Standing(query["standing"]) if query.get("standing") in set(Standing) else None
    kept = {"series": str(series) if series else "", "span": "" if span == "all" else span}
    trend = state.trends[series] if state.trends else None
    return page(
        request,
        "athlete.html",
        {
            "signed_in": True,
            "club": desk.club,
            "as_of": day_words(desk.as_of),
            "name": name_words(book.athlete.name, book.athlete.ref),
            "facts": fact_words(entry),
            "items": [item_words(item) for item in entry.attention],
            "position": position_card(book.positions, today),
            "earlier_positions": earlier_positions(book.positions, today),
            "trend": trend and trend_words(trend),
            "series": [
                Choice(series_words(one), addresses.athlete(ref, {**kept, "series": str(number_)}), number_ == series)
                for number_, one in enumerate(state.trends)
            ],
            "spans": [
                Choice(words, addresses.athlete(ref, {**kept, "span": key}), key == span)
                for key, words in SPAN_WORDS.items()
            ],
            "strength": strength_lines(trend) if trend else [],
            "balance": balance_lines(state.balances[series]) if trend else [],
            "formula": code_words(desk.protocol.side_gap_formula.value),
            "pictures": _pictures(ref, kept) if trend else {},
            "charts": _charts(desk, entry, trend, span) if trend else None,
            "weeks": week_lines(entry),
            "pain": pain_lines(entry),
            "periods": period_lines(entry),
            "ledger": ledger_page(
                sets_seen(book, state, desk.protocol), standing, _page_number(query), query.get("set", "")
            ),
            "standings": [
                Choice("all", addresses.athlete(ref, kept, "ledger"), standing is None),
                *(
                    Choice(words, addresses.athlete(ref, {**kept, "standing": key.value}, "ledger"), standing is key)
                    for key, words in STANDING_WORDS.items()
                ),
            ],
            "turn": lambda to: addresses.athlete(
                ref, {**kept, "standing": standing.value if standing else "", "page": str(to)}, "ledger"
            ),
            "method": method_words(desk.protocol),
        },
    )


def chart_picture(one: OneAthlete | None, query: dict[str, str]) -> Response:
    """Draw the charts of an athlete, or give again what was drawn of the same state."""
    if one is None or not one.entry.state.trends:
        return Response(status_code=404, headers=HEADERS)
    theme = query["theme"] if query.get("theme") in THEMES else "light"
    width = query["width"] if query.get("width") in WIDTHS else "wide"
    span = query["span"] if query.get("span") in SPANS else "all"
    series = _series_number(query, one.entry)
    key = (*one.basis, series, span, theme, width)
    picture = _DRAWN.get(key)
    if picture is None:
        state = one.entry.state
        picture = drawn(
            chart_data(state, state.trends[series], one.entry.book.periods, one.protocol, span), theme, width
        )
        _DRAWN.put(key, picture)
    # A picture is looked at, not run; the style attributes that its drawer writes are its own.
    headers = {**HEADERS, "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}
    return Response(picture, media_type="image/svg+xml", headers=headers)


def _series_number(query: dict[str, str], entry: BoardEntry) -> int:
    wanted = query.get("series", "")
    found = int(wanted) if wanted.isdecimal() and wanted.isascii() and len(wanted) < 4 else 0
    return found if found < len(entry.state.trends) else 0


def _page_number(query: dict[str, str]) -> int:
    wanted = query.get("page", "")
    return int(wanted) if wanted.isdecimal() and wanted.isascii() and len(wanted) < 7 else 1


def _pictures(ref: str, kept: dict[str, str]) -> dict[str, str]:
    return {
        f"{theme}_{width}": addresses.chart(ref, {**kept, "theme": theme, "width": width})
        for theme in THEMES
        for width in WIDTHS
    }


def _charts(desk: Desk, entry: BoardEntry, trend: SeriesTrend, span: str) -> str:
    """Give the specifications that the browser draws, as JSON that cannot end the element that holds it."""
    data = chart_data(entry.state, trend, entry.book.periods, desk.protocol, span)
    parts = {
        "specs": {theme: compiled(theme, "wide") for theme in THEMES},
        "rows": data.rows,
        "settings": settings_of(data),
    }
    text = json.dumps(parts, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
