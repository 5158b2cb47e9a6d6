"""The board: one row for each athlete of a squad, with what to look at today."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from stillset_core.attention import AttentionItem, attention_of_squad
from stillset_core.coverage import Coverage, coverage_of
from stillset_core.pipeline import AthleteState
from stillset_core.records import Direction, Side
from stillset_core.trend import SeriesTrend, State
from stillset_service.books import Book
from stillset_service.memory import Memory
from stillset_service.recompute import state_of
from stillset_service.store.athletes import AthleteFacts
from stillset_service.store.attention_answers import AttentionAnswer
from stillset_service.store.protocols import SavedProtocol
from stillset_service.views.answered import answered, answered_json
from stillset_service.views.periods import periods_of
from stillset_service.views.spelling import Json, age_days, in_utc, series_json, spelled_time
from stillset_service.views.strength import levels_json, ratios_json, side_gaps_json
from stillset_service.views.work import load_week_json, pain_json, week_of_state

__all__ = ["BoardEntry", "SquadState", "board_row", "coverages", "squad_state"]


@dataclass(frozen=True, slots=True)
class BoardEntry:
    """One athlete as of the moment of the board, with the attention items that name the athlete."""

    book: Book
    state: AthleteState
    attention: tuple[AttentionItem, ...]


@dataclass(frozen=True, slots=True)
class SquadState:
    """Everybody on the board as of one moment; ``attention`` also holds what concerns instruments."""

    as_of: datetime
    entries: tuple[BoardEntry, ...]
    attention: tuple[AttentionItem, ...]


_SQUADS: Memory[tuple[tuple[AthleteFacts, ...], int, datetime], SquadState] = Memory(capacity=64)
"""The latest squads by everything that they depend on: the athletes at their revisions, the protocol, the moment."""


def squad_state(books: Iterable[Book], saved: SavedProtocol, as_of: datetime) -> SquadState:
    """Derive everybody who is not archived, and the attention of them all together; or remember it."""
    present = [book for book in books if not book.athlete.archived]
    key = (tuple(book.athlete for book in present), saved.version, as_of)
    squad = _SQUADS.get(key)
    if squad is None:
        squad = _derived(present, saved, as_of)
        _SQUADS.put(key, squad)
    return squad


def board_row(entry: BoardEntry, answers: Sequence[AttentionAnswer] = ()) -> Json:
    """Give one athlete's row: the series used latest, the pain stated last, and the club's answers to the attention."""
    facts, state = entry.book.athlete, entry.state
    trend = state.trends[0] if state.trends else None
    last_at = max((one.last_reading_at for one in state.trends if one.last_reading_at is not None), default=None)
    return {
        "athlete": facts.ref,
        "id": facts.id,
        "name": facts.name,
        "squad": facts.squad,
        "role": facts.role,
        "dominant_side": facts.dominant_side,
        "as_of": in_utc(state.as_of),
        "last_reading_at": spelled_time(last_at),
        "last_reading_age_days": age_days(last_at, state.as_of),
        **_strength(state, trend),
        "states": _states(trend),
        "pain": _last_pain(entry),
        "load": load_week_json(week_of_state(state)),
        "attention": [answered_json(one) for one in answered(entry.attention, answers, state.as_of)],
    }


def coverages(entry: BoardEntry, saved: SavedProtocol) -> Sequence[Coverage]:
    """Give the coverage of one athlete's series; one empty row for an athlete without a set."""
    state = entry.state
    found = coverage_of(state.judged, state.as_of, saved.protocol)
    return found or (Coverage(None, None, None, 0, 0, 0, 0.0, overdue=True),)


def _derived(present: Sequence[Book], saved: SavedProtocol, as_of: datetime) -> SquadState:
    states = {book.athlete.ref: state_of(book, saved, as_of) for book in present}
    periods = {book.athlete.ref: periods_of(book.periods) for book in present}
    attention = attention_of_squad(states, saved.protocol, periods)
    entries = tuple(
        BoardEntry(
            book, states[book.athlete.ref], tuple(item for item in attention if item.athlete == book.athlete.ref)
        )
        for book in present
    )
    return SquadState(as_of, entries, attention)


def _strength(state: AthleteState, trend: SeriesTrend | None) -> Json:
    if trend is None:
        empty = dict.fromkeys(("position", "instrument_kind", "unit", "squeeze", "spread", "ratio", "side_gap"))
        return {**empty, "readings": 0, "at_least": 0}
    return {
        **series_json(trend.key),
        "readings": trend.readings,
        "at_least": trend.at_least,
        **levels_json(trend),
        "ratio": ratios_json(state.balances[0]),
        "side_gap": side_gaps_json(state.balances[0]),
    }


def _states(trend: SeriesTrend | None) -> Json:
    return {
        direction.value: {
            side.value: (State.TOO_FEW if trend is None else trend.direction(direction).side(side).state).value
            for side in Side
        }
        for direction in Direction
    }


def _last_pain(entry: BoardEntry) -> Json | None:
    if not entry.state.pain:
        return None
    last = entry.state.pain[-1]
    return pain_json(last, next(one.id for one in reversed(entry.book.sets) if one.client_ref == last.client_ref))
