"""The rows of the board: what is shown of each athlete, and by what it can be sorted and found."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from stillset_core.balance import Balance, BandState, SideGap, Stronger
from stillset_core.coverage import is_overdue
from stillset_core.judging.outcome import Standing
from stillset_core.load import LoadWeek
from stillset_core.numbers import MISSING, interval, number
from stillset_core.pain import PainEntry
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, Side
from stillset_core.trend import SeriesTrend, SideTrend, State
from stillset_service.books import PeriodFacts
from stillset_service.pages import addresses
from stillset_service.pages.pictures import TrendPicture, trend_picture
from stillset_service.pages.wording import (
    STATE_WORDS,
    SideWords,
    age,
    code_words,
    day_words,
    joined,
    name_words,
    pain_words,
    plural,
    side_words,
)
from stillset_service.views.board import BoardEntry
from stillset_service.views.work import week_of_state

__all__ = ["BoardRow", "row_of"]

SortValue = float | str
BAND_MARKS = {BandState.ABOVE: "above", BandState.BELOW: "below"}
"""Said where a ratio lies outside the athlete's usual band."""
AWAY = ("injury", "rehabilitation", "break")
LATELY = timedelta(weeks=8)
"""How long a period that is over is still mentioned (a choice, no source)."""
STATE_ORDER = {state: float(place) for place, state in enumerate(STATE_WORDS)}


@dataclass(frozen=True, slots=True)
class Pair:
    """A value of two: by side, or by direction. ``note`` is read out beside the value."""

    name: str
    value: str
    interval: str
    note: str


@dataclass(frozen=True, slots=True)
class DirectionCell:
    """One direction of one athlete."""

    sides: tuple[SideWords, ...]
    picture: TrendPicture | None


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One athlete on the board; everything is text except the sort values."""

    ref: str
    name: str
    role: str
    squad: str
    href: str
    search: str
    states: str
    items: int
    period: str
    last_age: str
    last_day: str
    late: bool
    basis: str
    aside: str
    serial: str
    directions: tuple[DirectionCell, ...]
    ratios: tuple[Pair, ...]
    gaps: tuple[Pair, ...]
    pain: str
    pain_day: str
    load: str
    load_note: str
    sort: dict[str, SortValue | None]


def row_of(entry: BoardEntry, protocol: Protocol) -> BoardRow:
    """Put one athlete into the words of the board."""
    book, state = entry.book, entry.state
    trend = state.trends[0] if state.trends else None
    balance = state.balances[0] if state.balances else None
    last = None if trend is None else trend.last_reading_at
    late = is_overdue(last, state.as_of, protocol)
    pain = state.pain[-1] if state.pain else None
    week = week_of_state(state)
    serial = state.judged[-1].record.instrument.serial if state.judged else None
    facts = book.athlete
    return BoardRow(
        ref=facts.ref,
        name=name_words(facts.name, facts.ref),
        role=facts.role or "",
        squad=facts.squad or "",
        href=addresses.athlete(facts.ref),
        search=" ".join((facts.ref, facts.name or "", facts.role or "", serial or "")).casefold(),
        states=" ".join(sorted(_states(trend))),
        items=len(entry.attention),
        period=_period(book.periods, state.as_of.date()),
        last_age=age(last, state.as_of),
        last_day=day_words(last, year=False) if last else "",
        late=late,
        basis="" if trend is None else plural(trend.readings, "reading"),
        aside=_since(state, last) if late else "",
        serial=serial or "",
        directions=tuple(_direction(trend, direction) for direction in Direction) if trend else (),
        ratios=_ratios(balance),
        gaps=_gaps(balance),
        pain=pain_words(pain),
        pain_day=day_words(pain.performed_at, year=False) if pain else "",
        load=number(week.hold_s, "s") if week.reps else MISSING,
        load_note=_load_note(week),
        sort=_sort_values(entry, trend, balance, pain) | {"load": week.hold_s},
    )


def _direction(trend: SeriesTrend, direction: Direction) -> DirectionCell:
    measured = [found.level is not None for found in _sides(trend, direction)]
    return DirectionCell(
        tuple(side_words(trend, direction, side) for side in Side), trend_picture(trend, direction, measured)
    )


def _sides(trend: SeriesTrend, direction: Direction) -> tuple[SideTrend, ...]:
    return tuple(trend.direction(direction).side(side) for side in Side)


def _all_sides(trend: SeriesTrend | None) -> list[SideTrend]:
    return [] if trend is None else [found for direction in Direction for found in _sides(trend, direction)]


def _states(trend: SeriesTrend | None) -> set[str]:
    return {found.state.value for found in _all_sides(trend)} or {State.TOO_FEW.value}


def _ratios(balance: Balance | None) -> tuple[Pair, ...]:
    if balance is None:
        return ()
    pairs = []
    for side in Side:
        ratio = balance.ratio(side)
        note = BAND_MARKS.get(ratio.state, "")
        pairs.append(Pair(side.value, number(ratio.value, "ratio"), interval(ratio.low, ratio.high, "ratio"), note))
    return tuple(pairs)


def _gaps(balance: Balance | None) -> tuple[Pair, ...]:
    if balance is None:
        return ()
    return tuple(_gap(direction.value, balance.gap(direction)) for direction in Direction)


def _gap(name: str, gap: SideGap) -> Pair:
    if gap.percent is None:
        return Pair(name, MISSING, MISSING, "")
    note = ""
    if gap.beyond_noise and gap.stronger is not None and gap.stronger is not Stronger.NEITHER:
        note = gap.stronger.value
    return Pair(name, number(abs(gap.percent), "%"), interval(gap.low, gap.high, "%", signed=True), note)


def _period(periods: Iterable[PeriodFacts], today: date) -> str:
    """Say what the athlete is away from normal training for, or lately was."""
    begun = [one for one in periods if one.kind in AWAY and one.from_date <= today]
    for period in sorted(begun, key=lambda one: one.from_date, reverse=True):
        if period.to_date is None or period.to_date >= today:
            return f"{period.kind} since {day_words(period.from_date, year=False)}"
        if period.kind != "break" and today - period.to_date <= LATELY:
            return f"{period.kind} until {day_words(period.to_date, year=False)}"
    return ""


def _load_note(week: LoadWeek) -> str:
    if not week.reps:
        return "nothing yet"
    return joined((plural(week.reps, "rep"), "" if week.hard_s is None else f"{number(week.hard_s, 's')} hard"))


def _since(state: AthleteState, last: datetime | None) -> str:
    """Say what has been logged since the last counting reading without counting, and why."""
    since = [judged for judged in state.judged if last is None or judged.record.performed_at > last]
    outcomes = [found for judged in since for found in judged.outcome if found.standing is not Standing.COUNTS]
    if not outcomes:
        return ""
    reasons = Counter(reason.rule for found in outcomes for reason in found.reasons)
    mostly = f", mostly {code_words(reasons.most_common(1)[0][0])}" if reasons else ""
    return f"{plural(len(since), 'set')}{'' if last is None else ' since'}, none counts{mostly}"


def _sort_values(
    entry: BoardEntry, trend: SeriesTrend | None, balance: Balance | None, pain: PainEntry | None
) -> dict[str, SortValue | None]:
    """Values to sort by: of two sides or directions, the one that a coach would look at first."""
    facts, state = entry.book.athlete, entry.state
    last = None if trend is None else trend.last_reading_at
    values: dict[str, SortValue | None] = {
        "name": name_words(facts.name, facts.ref).casefold(),
        "ref": facts.ref,
        "role": (facts.role or "").casefold(),
        "items": -float(len(entry.attention)),
        "last": None if last is None else (state.as_of - last).total_seconds(),
        "pain": None if pain is None or pain.score is None else pain.score,
    }
    for direction in Direction:
        found = [] if trend is None else _sides(trend, direction)
        values[f"{direction.value}-level"] = _lowest(side.level for side in found)
        values[f"{direction.value}-change"] = _lowest(side.change_percent for side in found)
        values[f"{direction.value}-state"] = min((STATE_ORDER[side.state] for side in found), default=None)
        gap = None if balance is None else balance.gap(direction).percent
        values[f"{direction.value}-gap"] = None if gap is None else abs(gap)
    values["ratio"] = None if balance is None else _lowest(balance.ratio(side).value for side in Side)
    return values


def _lowest(values: Iterable[float | None]) -> float | None:
    return min((value for value in values if value is not None), default=None)
