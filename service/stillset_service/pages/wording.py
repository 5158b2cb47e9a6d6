"""Words and numbers of the pages, so that templates hold neither arithmetic nor rounding."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from stillset_core.judging.outcome import Standing
from stillset_core.numbers import MISSING, interval, number
from stillset_core.pain import PainEntry
from stillset_core.protocol import BaselineReadings, BaselineWeeks, Protocol
from stillset_core.records import Direction, PainWhen, Quantity, Side
from stillset_core.trend import SeriesTrend, SideTrend, State

__all__ = [
    "DIRECTIONS",
    "SIDES",
    "STATE_WORDS",
    "SideWords",
    "age",
    "angle",
    "baseline_words",
    "code_words",
    "day_words",
    "joined",
    "name_words",
    "pain_words",
    "plain_number",
    "plural",
    "side_words",
    "standing_words",
    "unit_symbol",
]

STATE_WORDS = {
    State.FALLING: "falling",
    State.UNSURE: "unsure",
    State.HOLDING: "holding",
    State.RISING: "rising",
    State.TOO_FEW: "too few",
}
"""States in words, in the order in which a coach wants to see them."""
STANDING_WORDS = {Standing.COUNTS: "counts", Standing.AT_LEAST: "at least", Standing.SET_ASIDE: "set aside"}
DIRECTIONS = {Direction.SQUEEZE: "Squeeze", Direction.SPREAD: "Spread"}
SIDES = {Side.LEFT: "Left", Side.RIGHT: "Right"}
_SYMBOLS = {Quantity.FORCE: "N", Quantity.TORQUE: "N·m", Quantity.PRESSURE: "kPa"}


@dataclass(frozen=True, slots=True)
class SideWords:
    """One side of one direction as a reader sees it; numbers are text with their units."""

    side: str
    level: str
    interval: str
    change: str
    change_interval: str
    state: str
    state_words: str
    weekly: str
    at_least: str
    readings: str
    falls_by: str
    rises_by: str


def side_words(trend: SeriesTrend, direction: Direction, side: Side) -> SideWords:
    """Put one side of one direction into words."""
    found: SideTrend = trend.direction(direction).side(side)
    unit = trend.key.quantity.value
    return SideWords(
        side=side.value,
        level=number(found.level, unit),
        interval=interval(found.low, found.high, unit, bare=True),
        change=number(found.change_percent, "%", signed=True),
        change_interval=interval(found.change_low, found.change_high, "%", signed=True, bare=True),
        state=found.state.value,
        state_words=STATE_WORDS[found.state],
        weekly=number(found.weekly_percent, "%", signed=True),
        at_least="" if found.at_least is None else number(found.at_least, unit),
        readings=plural(found.readings, "reading"),
        falls_by=_chance(found.probability_below),
        rises_by=_chance(found.probability_above),
    )


def name_words(name: str | None, ref: str) -> str:
    """Name an athlete; by the ref where there is no name, or one that nobody can see and so nobody can follow."""
    seen = name is not None and any(letter.isprintable() and not letter.isspace() for letter in name)
    return name if name is not None and seen else ref


def standing_words(standing: Standing) -> str:
    """Standing in words."""
    return STANDING_WORDS[standing]


def plural(count: int, noun: str) -> str:
    """Write a count with its noun."""
    return f"{count} {noun}" + ("" if count == 1 else "s")


def day_words(at: date | datetime | None, *, year: bool = True) -> str:
    """Write a date as people do: ``14 Sep 2026``; in the offset that it carries."""
    if at is None:
        return MISSING
    return f"{at.day} {at:%b}" + (f" {at.year}" if year else "")


def age(at: datetime | None, as_of: datetime) -> str:
    """Say how many days ago something was: from its own calendar date to that of the moment of knowledge."""
    if at is None:
        return "never"
    days = (as_of.date() - at.date()).days
    if days <= 0:
        return "today"
    return "yesterday" if days == 1 else f"{days} days ago"


def code_words(code: str) -> str:
    """Read a rule's code as words: ``bar-height-off`` is *bar height off*."""
    return code.replace("-", " ").replace("_", " ")


def pain_words(entry: PainEntry | None) -> str:
    """Say what was stated about pain, never more; that it was felt during the set goes without saying."""
    if entry is None:
        return MISSING
    stated = number(entry.score, "score") if entry.score is not None else "yes, no score" if entry.present else "no"
    return stated if entry.when is PainWhen.DURING else f"{stated} {code_words(entry.when.value)}"


def angle(value: float | None) -> str:
    """Write an angle, an en dash for an unknown one."""
    return number(value, "deg")


def plain_number(value: float | None) -> str:
    """Write a stated number as it was stated, without trailing zeros."""
    return MISSING if value is None else f"{value:g}"


def unit_symbol(quantity: Quantity) -> str:
    """Symbol of the unit in which a quantity is read."""
    return _SYMBOLS[quantity]


def joined(parts: Iterable[str]) -> str:
    """Join what is there with a middle dot."""
    return " · ".join(part for part in parts if part)


def baseline_words(protocol: Protocol) -> str:
    """Say what the baseline is made of."""
    baseline = protocol.baseline
    if isinstance(baseline, BaselineReadings):
        return f"the first {plural(baseline.readings, 'counting reading')} of a direction"
    if isinstance(baseline, BaselineWeeks):
        return f"the first {plural(baseline.weeks, 'week')} of a series"
    return f"the readings from {day_words(baseline.from_)} to {day_words(baseline.to)}"


def _chance(probability: float | None) -> str:
    return MISSING if probability is None else f"{round(100 * probability)} %"
