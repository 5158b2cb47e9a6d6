"""The page of one athlete: strength over time with what lies behind it, balance, load, pain and the ledger of sets."""

import json
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from starlette.responses import Response

from stillset_core.balance import Balance, BandState, Ratio, SideGap, Stronger
from stillset_core.judging.outcome import Standing
from stillset_core.numbers import MISSING, interval, number
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, Side, StandardPosition
from stillset_core.trend import SeriesTrend
from stillset_service.books import PeriodFacts
from stillset_service.memory import Memory
from stillset_service.pages import addresses
from stillset_service.pages.attention import item_words
from stillset_service.pages.chart_data import SPANS, chart_data
from stillset_service.pages.chart_spec import THEMES, WIDTHS, compiled, drawn, settings_of
from stillset_service.pages.desk import Desk, OneAthlete, desk_of, one_of
from stillset_service.pages.ledger import ledger_page
from stillset_service.pages.rendering import HEADERS, page
from stillset_service.pages.visits import shown
from stillset_service.pages.wording import (
    DIRECTIONS,
    SIDES,
    STANDING_WORDS,
    age,
    angle,
    baseline_words,
    code_words,
    day_words,
    joined,
    pain_words,
    plain_number,
    plural,
    side_words,
)
from stillset_service.views.board import BoardEntry
from stillset_service.views.sets import sets_seen

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

_DRAWN: Memory[tuple[str | int | datetime, ...], str] = Memory(capacity=200)
"""Drawn pictures by everything that they depend on."""
SPAN_WORDS = {"all": "everything", "26w": "last 26 weeks", "12w": "last 12 weeks"}
WEEKS_LISTED = 8
"""Weeks of load in the table (a choice, no source); the chart has all."""
BAND_WORDS = {
    BandState.WITHIN: "within the usual band",
    BandState.ABOVE: "above the usual band",
    BandState.BELOW: "below the usual band",
    BandState.TOO_FEW: "usual band not known yet",
}


@dataclass(frozen=True, slots=True)
class BalanceLine:
    """One line of the balance table."""

    name: str
    value: str
    interval: str
    note: str
    usual: str
    band: str


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
            "name": book.athlete.name or book.athlete.ref,
            "facts": _facts(entry),
            "items": [item_words(item) for item in entry.attention],
            "position": _position_card(book.positions, desk),
            "earlier_positions": _earlier(book.positions, desk),
            "trend": trend and _trend_words(trend),
            "series": [
                Choice(_series_words(one), addresses.athlete(ref, {**kept, "series": str(number_)}), number_ == series)
                for number_, one in enumerate(state.trends)
            ],
            "spans": [
                Choice(words, addresses.athlete(ref, {**kept, "span": key}), key == span)
                for key, words in SPAN_WORDS.items()
            ],
            "strength": _strength(trend) if trend else [],
            "balance": _balance(state.balances[series]) if trend else [],
            "formula": code_words(desk.protocol.side_gap_formula.value),
            "pictures": _pictures(ref, kept) if trend else {},
            "charts": _charts(desk, entry, trend, span) if trend else None,
            "weeks": _weeks(entry),
            "pain": _pain(entry),
            "periods": _periods(entry),
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
            "method": _method(desk.protocol),
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


def _facts(entry: BoardEntry) -> list[str]:
    facts = entry.book.athlete
    dominant = "" if facts.dominant_side is None else f"dominant side {facts.dominant_side.value}"
    archived = "archived" if facts.archived else ""
    return [fact for fact in (facts.ref, facts.role, facts.squad, dominant, archived) if fact]


def _position_card(positions: tuple[StandardPosition, ...], desk: Desk) -> list[tuple[str, str]]:
    """Say what to set before the athlete lies down; empty without a standard position today."""
    today = desk.as_of.date()
    begun = [standard for standard in positions if standard.valid_from <= today]
    if not begun:
        return []
    standard = max(begun, key=lambda one: one.valid_from)
    place = standard.position
    lines = [
        ("position", code_words(place.name)),
        ("bar height", plain_number(place.bar_height)),
        ("foot mark", place.foot_mark or MISSING),
        ("knee angle", angle(place.knee_angle_deg)),
        ("instrument", code_words(standard.instrument_kind.value)),
        ("measured with", standard.measured_by or MISSING),
        ("since", day_words(standard.valid_from)),
    ]
    return [(name, value) for name, value in lines if value != MISSING]


def _earlier(positions: tuple[StandardPosition, ...], desk: Desk) -> str:
    others = sum(standard.valid_from <= desk.as_of.date() for standard in positions) - 1
    return f"{plural(others, 'earlier entry').replace('entrys', 'entries')} on file." if others > 0 else ""


def _series_words(trend: SeriesTrend) -> str:
    key = trend.key
    knee = "" if key.knee_angle_deg is None else f"knee {plain_number(key.knee_angle_deg)}°"
    return joined((code_words(key.position), knee, code_words(key.instrument_kind.value)))


def _trend_words(trend: SeriesTrend) -> dict[str, str]:
    return {
        "series": _series_words(trend),
        "readings": plural(trend.readings, "counting reading"),
        "at_least": plural(trend.at_least, "lower bound"),
        "last": age(trend.last_reading_at, trend.as_of),
        "last_day": day_words(trend.last_reading_at),
        "unit": trend.key.quantity.value,
    }


def _strength(trend: SeriesTrend) -> list[tuple[str, str, object]]:
    return [
        (DIRECTIONS[direction], SIDES[side], side_words(trend, direction, side))
        for direction in Direction
        for side in Side
    ]


def _balance(balance: Balance) -> list[BalanceLine]:
    ratios = [_ratio_line(f"Squeeze ÷ spread, {side.value}", balance.ratio(side)) for side in Side]
    gaps = [_gap_line(f"Side gap, {direction.value}", balance.gap(direction)) for direction in Direction]
    return [*ratios, *gaps]


def _ratio_line(name: str, ratio: Ratio) -> BalanceLine:
    usual = interval(ratio.usual_low, ratio.usual_high, "ratio")
    return BalanceLine(
        name, number(ratio.value, "ratio"), interval(ratio.low, ratio.high, "ratio"), "", usual, BAND_WORDS[ratio.state]
    )


def _gap_line(name: str, gap: SideGap) -> BalanceLine:
    note = ""
    if gap.percent is not None and gap.stronger not in {None, Stronger.NEITHER}:
        note = f"{gap.stronger} stronger, " + ("beyond noise" if gap.beyond_noise else "within noise")
    return BalanceLine(
        name,
        number(gap.percent, "%", signed=True),
        interval(gap.low, gap.high, "%", signed=True),
        note,
        interval(gap.usual_low, gap.usual_high, "%", signed=True),
        BAND_WORDS[gap.state],
    )


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


def _weeks(entry: BoardEntry) -> list[tuple[str, ...]]:
    rows = sorted(entry.state.load_weeks, key=lambda row: row.week, reverse=True)[:WEEKS_LISTED]
    return [(row.week, number(row.reps, "count"), number(row.hold_s, "s"), number(row.hard_s, "s")) for row in rows]


def _pain(entry: BoardEntry) -> list[tuple[str, str]]:
    return [
        (day_words(one.performed_at), joined((pain_words(one), one.site or "")))
        for one in reversed(entry.state.pain[-5:])
    ]


def _periods(entry: BoardEntry) -> list[tuple[str, str]]:
    latest_first = sorted(entry.book.periods, key=lambda one: one.from_date, reverse=True)
    return [(period.kind, _period_words(period)) for period in latest_first]


def _period_words(period: PeriodFacts) -> str:
    until = "today, still open" if period.to_date is None else day_words(period.to_date)
    return f"{day_words(period.from_date)} to {until}" + (f": {period.note}" if period.note else "")


def _method(protocol: Protocol) -> dict[str, str]:
    return {
        "baseline": baseline_words(protocol),
        "smallest": number(protocol.smallest_change_percent, "%"),
        "reps": plural(protocol.reps_standard, "maximal rep"),
        "formula": code_words(protocol.side_gap_formula.value),
        "overdue": f"{plain_number(protocol.overdue_days)} days",
        "stop": plain_number(protocol.pain_stop_score),
    }
