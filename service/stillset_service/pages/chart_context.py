"""What lies around the strength curves of a chart: pain, load and periods, on the same time axis."""

import calendar
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from stillset_core.numbers import number
from stillset_core.pipeline import AthleteState
from stillset_service.books import PeriodFacts
from stillset_service.pages.wording import day_words, pain_words

__all__ = ["Row", "load_rows", "midnight", "pain_rows", "period_rows", "wall_time"]

Row = dict[str, object]
DAY_MS = 86_400_000.0
SHADED = frozenset({"injury", "rehabilitation", "break"})
"""Kinds of period away from normal training."""


def wall_time(at: datetime) -> float:
    """Write a time as epoch milliseconds of its own wall clock."""
    return calendar.timegm(at.timetuple()) * 1000.0


def midnight(day: date) -> float:
    """Write the beginning of a day as epoch milliseconds."""
    return calendar.timegm(day.timetuple()) * 1000.0


def pain_rows(state: AthleteState) -> list[Row]:
    """Give one row for each set that states pain."""
    rows: list[Row] = []
    for entry in state.pain:
        site = f", {entry.site}" if entry.site else ""
        say = f"{day_words(entry.performed_at)}: pain {pain_words(entry)}{site}"
        # A yes without a score has no height: it is drawn low, as an open mark.
        score = entry.score if entry.score is not None else (0.5 if entry.present else 0.0)
        rows.append(
            {"at": wall_time(entry.performed_at), "score": score, "scored": entry.score is not None, "say": say}
        )
    return rows


def load_rows(state: AthleteState) -> list[Row]:
    """Give one row for each week, from its Monday on."""
    rows: list[Row] = []
    for week in state.load_weeks:
        year, number_of_week = (int(part) for part in week.week.split("-W"))
        start = datetime.combine(date.fromisocalendar(year, number_of_week, 1), datetime.min.time(), UTC)
        hard = "" if week.hard_s is None else f", {number(week.hard_s, 's')} of them hard (at least 80 % of level)"
        impulse = "" if week.impulse_n_s is None else f"; impulse {number(week.impulse_n_s, 'N.s')}"
        say = f"Week of {day_words(start)}: {week.reps} reps, held {number(week.hold_s, 's')}{hard}{impulse}"
        rows.append(
            {
                "at": wall_time(start),
                "until": wall_time(start + timedelta(days=6, hours=12)),
                "hold_s": week.hold_s,
                "hard_s": week.hard_s or 0.0,
                "say": say,
            }
        )
    return rows


def period_rows(periods: Iterable[PeriodFacts], shown: tuple[float, float]) -> tuple[list[Row], list[Row]]:
    """Periods as shades, for those away from normal training, and as bars."""
    shades: list[Row] = []
    bars: list[Row] = []
    for period in periods:
        start = midnight(period.from_date)
        end = shown[1] if period.to_date is None else midnight(period.to_date) + DAY_MS
        if end < shown[0] or start > shown[1]:
            continue
        until = "open" if period.to_date is None else day_words(period.to_date)
        note = f". {period.note}" if period.note else ""
        say = f"{period.kind.capitalize()}, {day_words(period.from_date)} to {until}{note}"
        row: Row = {"from": max(start, shown[0]), "to": min(end, shown[1]), "kind": period.kind, "say": say}
        (shades if period.kind in SHADED else bars).append(row)
    return shades, bars
