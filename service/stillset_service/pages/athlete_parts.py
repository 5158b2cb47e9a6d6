"""The parts of an athlete's page in words: facts, standard position, strength, balance, load, pain, periods."""

from dataclasses import dataclass
from datetime import date

from stillset_core.balance import Balance, BandState, Ratio, SideGap, Stronger
from stillset_core.numbers import MISSING, interval, number
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, Side, StandardPosition
from stillset_core.trend import SeriesTrend
from stillset_service.books import PeriodFacts
from stillset_service.pages.wording import (
    DIRECTIONS,
    SIDES,
    SideWords,
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

__all__ = [
    "BalanceLine",
    "balance_lines",
    "earlier_positions",
    "fact_words",
    "method_words",
    "pain_lines",
    "period_lines",
    "position_card",
    "series_words",
    "strength_lines",
    "trend_words",
    "week_lines",
]

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


def fact_words(entry: BoardEntry) -> list[str]:
    """List what is on file about the athlete."""
    facts = entry.book.athlete
    dominant = "" if facts.dominant_side is None else f"dominant side {facts.dominant_side.value}"
    archived = "archived" if facts.archived else ""
    return [fact for fact in (facts.ref, facts.role, facts.squad, dominant, archived) if fact]


def position_card(positions: tuple[StandardPosition, ...], today: date) -> list[tuple[str, str]]:
    """Say what to set before the athlete lies down; empty without a standard position today."""
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


def earlier_positions(positions: tuple[StandardPosition, ...], today: date) -> str:
    """Say how many standards came before the one in force."""
    others = sum(standard.valid_from <= today for standard in positions) - 1
    return f"{plural(others, 'earlier standard')} on file." if others > 0 else ""


def series_words(trend: SeriesTrend) -> str:
    """Name a series."""
    key = trend.key
    knee = "" if key.knee_angle_deg is None else f"knee {plain_number(key.knee_angle_deg)}°"
    return joined((code_words(key.position), knee, code_words(key.instrument_kind.value)))


def trend_words(trend: SeriesTrend) -> dict[str, str]:
    """Say what a series rests on."""
    return {
        "series": series_words(trend),
        "readings": plural(trend.readings, "counting reading"),
        "at_least": plural(trend.at_least, "lower bound"),
        "last": age(trend.last_reading_at, trend.as_of),
        "last_day": day_words(trend.last_reading_at),
        "unit": trend.key.quantity.value,
    }


def strength_lines(trend: SeriesTrend) -> list[tuple[str, str, SideWords]]:
    """Give level, change and state of each direction and side."""
    return [
        (DIRECTIONS[direction], SIDES[side], side_words(trend, direction, side))
        for direction in Direction
        for side in Side
    ]


def balance_lines(balance: Balance) -> list[BalanceLine]:
    """Give the ratios of both sides and the side gaps of both directions."""
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


def week_lines(entry: BoardEntry) -> list[tuple[str, ...]]:
    """Give the latest weeks of load, newest first."""
    rows = sorted(entry.state.load_weeks, key=lambda row: row.week, reverse=True)[:WEEKS_LISTED]
    return [(row.week, number(row.reps, "count"), number(row.hold_s, "s"), number(row.hard_s, "s")) for row in rows]


def pain_lines(entry: BoardEntry) -> list[tuple[str, str]]:
    """Give what was stated about pain lately, newest first."""
    return [
        (day_words(one.performed_at), joined((pain_words(one), one.site or "")))
        for one in reversed(entry.state.pain[-5:])
    ]


def period_lines(entry: BoardEntry) -> list[tuple[str, str]]:
    """Give every period, latest first."""
    latest_first = sorted(entry.book.periods, key=lambda one: one.from_date, reverse=True)
    return [(period.kind, _period_words(period)) for period in latest_first]


def _period_words(period: PeriodFacts) -> str:
    until = "today, still open" if period.to_date is None else day_words(period.to_date)
    return f"{day_words(period.from_date)} to {until}" + (f": {period.note}" if period.note else "")


def method_words(protocol: Protocol) -> dict[str, str]:
    """Give the settings of the protocol that the numbers depend on."""
    return {
        "baseline": baseline_words(protocol),
        "smallest": number(protocol.smallest_change_percent, "%"),
        "reps": plural(protocol.reps_standard, "maximal rep"),
        "formula": code_words(protocol.side_gap_formula.value),
        "overdue": f"{plain_number(protocol.overdue_days)} days",
        "stop": plain_number(protocol.pain_stop_score),
    }
