"""The board: who needs a look today, and every athlete of the club in one table.

Filters and order are plain query parameters, so the page works without a script and its address
can be kept; an unknown value is ignored, because a page is no place to refuse a spelling.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import Response

from stillset_core.numbers import number
from stillset_service.pages import addresses
from stillset_service.pages.attention import lookouts_of
from stillset_service.pages.board_rows import BoardRow, row_of
from stillset_service.pages.desk import Desk, desk_of
from stillset_service.pages.pictures import PICTURE_WEEKS
from stillset_service.pages.rendering import page
from stillset_service.pages.visits import shown
from stillset_service.pages.wording import STATE_WORDS, baseline_words, code_words, day_words, plural

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

SHOWN_AT_ONCE = 12
"""Athletes and instruments to look at that are shown before the rest is folded away."""
FILTERS = ("q", "role", "squad", "state")
DESCENDING = frozenset({"last", "pain", "load", "squeeze-gap", "spread-gap"})
"""Columns whose first click shows the largest value first."""
ORDERS: dict[str, str] = {
    "name": "name",
    "role": "role",
    "items": "attention items",
    "last": "days since the last reading",
    "squeeze-level": "squeeze level",
    "squeeze-change": "squeeze change",
    "squeeze-state": "squeeze state",
    "spread-level": "spread level",
    "spread-change": "spread change",
    "spread-state": "spread state",
    "ratio": "squeeze ÷ spread",
    "squeeze-gap": "squeeze side gap",
    "spread-gap": "spread side gap",
    "pain": "pain",
    "load": "load this week",
}


@dataclass(frozen=True, slots=True)
class SortLink:
    """A way to sort: where it leads and, for the order in force, which way it runs."""

    key: str
    words: str
    href: str
    now: str


@router.get(addresses.BOARD)
async def show_board(request: Request) -> Response:
    """Show the board of the viewer's club."""
    query = dict(request.query_params)
    return await shown(request, lambda access: board_page(request, desk_of(request, access), query))


def board_page(request: Request, desk: Desk, query: dict[str, str]) -> Response:
    """Make the board from everything on the desk."""
    rows = [row_of(entry, desk.protocol) for entry in desk.entries]
    chosen = {name: query.get(name, "").strip()[:100] for name in FILTERS}
    order = query.get("sort", "name")
    order = order if order in ORDERS else "name"
    down = query.get("order", "down" if order in DESCENDING else "up") == "down"
    shown = [row for row in rows if _fits(row, chosen)]
    lookouts = lookouts_of(desk.attention, desk.names)
    return page(
        request,
        "board.html",
        {
            "signed_in": True,
            "club": desk.club,
            "as_of": day_words(desk.as_of),
            "lookouts_now": lookouts[:SHOWN_AT_ONCE],
            "more_lookouts": lookouts[SHOWN_AT_ONCE:],
            "any_sets": desk.any_sets,
            "rows": _sorted(shown, order, down=down),
            "hidden": [row for row in rows if row not in shown],
            "count": f"{len(shown)} of {plural(len(rows), 'athlete')}",
            "total": len(rows),
            "chosen": chosen,
            "order": order,
            "down": down,
            "orders": ORDERS,
            "links": {key: _link(key, chosen, order, down=down) for key in ORDERS},
            "roles": sorted({row.role for row in rows if row.role}),
            "squads": desk.squads,
            "states": {state.value: words for state, words in STATE_WORDS.items()},
            "formula": code_words(desk.protocol.side_gap_formula.value),
            "origin": str(request.base_url).rstrip("/"),
            "today": desk.as_of.date().isoformat(),
            "baseline": baseline_words(desk.protocol),
            "smallest": number(desk.protocol.smallest_change_percent, "%"),
            "picture_weeks": PICTURE_WEEKS,
        },
    )


def _fits(row: BoardRow, chosen: dict[str, str]) -> bool:
    return (
        chosen["q"].casefold() in row.search
        and chosen["role"] in {"", row.role}
        and chosen["squad"] in {"", row.squad}
        and (not chosen["state"] or chosen["state"] in row.states.split())
    )


def _sorted(rows: Iterable[BoardRow], order: str, *, down: bool) -> Sequence[BoardRow]:
    """Sort by a column, then by name; a row without a value comes last either way."""
    by_name = sorted(rows, key=lambda row: (row.sort["name"], row.ref))
    known = [row for row in by_name if row.sort[order] is not None]
    known.sort(key=lambda row: row.sort[order], reverse=down)  # type: ignore[arg-type,return-value]  # one column holds one type
    return known + [row for row in by_name if row.sort[order] is None]


def _link(key: str, chosen: dict[str, str], order: str, *, down: bool) -> SortLink:
    turned = (not down) if key == order else key in DESCENDING
    href = addresses.board({**chosen, "sort": key, "order": "down" if turned else "up"})
    now = ("descending" if down else "ascending") if key == order else ""
    return SortLink(key, ORDERS[key], href, now)
