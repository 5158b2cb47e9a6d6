"""Strength that falls: the state of each side of the series in use.

A change beyond the smallest change needs no check of its own: a fall of which the engine is 90 % sure is
the state falling, called or not, and a rise is seen on the board and is nothing to look into.
"""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from stillset_core.attention.item import AttentionItem, Evidence, Watched
from stillset_core.numbers import Figure, day, interval, number
from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.rfc3339 import spelled
from stillset_core.trend import DeclineCall, SeriesTrend, SideTrend, State

__all__ = ["STRENGTH_FALLING", "falling_sides", "strength_falling"]

STRENGTH_FALLING = "strength-falling"
STALE = timedelta(weeks=8)
"""A series without a reading for this long says nothing about today; its coverage does."""
NOT_BELOW = ", not clearly below it: the call compares with the weeks before it, not with baseline"


def falling_sides(watched: Watched) -> tuple[tuple[Direction, Side], ...]:
    """Find the sides of the series in use whose state is falling, squeeze first and left first."""
    trend = _in_use(watched)
    if trend is None:
        return ()
    return tuple(
        (direction, side)
        for direction, side in STRENGTHS
        if trend.direction(direction).side(side).state is State.FALLING
    )


def strength_falling(watched: Watched) -> Iterator[AttentionItem]:
    """Report each side that falls, with its change since baseline and the decline call if one stands."""
    trend = _in_use(watched)
    if trend is None:
        return
    for direction, side in falling_sides(watched):
        found = trend.direction(direction).side(side)
        calls = [call for call in trend.standing_calls if call.names(direction, side)]
        call = min(calls, key=lambda one: one.at, default=None)
        called_on = None if call is None else call.at.date()
        yield AttentionItem(
            rule=STRENGTH_FALLING,
            athlete=watched.athlete,
            direction=direction,
            side=side,
            text=_sentence(trend, found, f"{side.value.capitalize()} {direction.value}", call),
            evidence=_evidence(trend, found, called_on),
            since=called_on or _below_since(watched, trend, STRENGTHS.index((direction, side)), found),
            weight=-(found.change_percent or 0.0),
        )


def _in_use(watched: Watched) -> SeriesTrend | None:
    """Give the series used latest, if its last counting reading is not stale."""
    trend = watched.state.trends[0] if watched.state.trends else None
    if trend is None or trend.last_reading_at is None or watched.age(trend.last_reading_at) > STALE:
        return None
    return trend


def _sentence(trend: SeriesTrend, found: SideTrend, strength: str, call: DeclineCall | None) -> str:
    """Say what fell. A call rests on the course before it, so a side can be called that is not below its baseline."""
    level = Figure(found.level, found.low, found.high, trend.key.quantity.value, found.readings, trend.last_reading_at)
    change = number(found.change_percent, "%", signed=True)
    against = f"{change} (95 % {interval(found.change_low, found.change_high, '%', signed=True)}) against baseline"
    if call is None:
        return f"{strength} is falling: {against}, now {level.sentence}."
    whose = " of both sides together" if call.side is None else ""
    doubt = "" if found.change_high is not None and found.change_high < 0 else NOT_BELOW
    return f"{strength}: a decline{whose} was called on {day(call.at)}; now {level.sentence}, {against}{doubt}."


def _evidence(trend: SeriesTrend, found: SideTrend, called_on: date | None) -> dict[str, Evidence]:
    return {
        "level": found.level,
        "low": found.low,
        "high": found.high,
        "unit": trend.key.quantity.value,
        "baseline": found.baseline,
        "change_percent": found.change_percent,
        "change_low": found.change_low,
        "change_high": found.change_high,
        "probability_below": found.probability_below,
        "weekly_percent": found.weekly_percent,
        "readings": found.readings,
        "last_reading_at": None if trend.last_reading_at is None else spelled(trend.last_reading_at),
        "called_on": None if called_on is None else called_on.isoformat(),
    }


def _below_since(watched: Watched, trend: SeriesTrend, column: int, found: SideTrend) -> date | None:
    """First session of the latest run whose smoothed level lies below baseline by the smallest change."""
    if found.baseline is None:
        return None
    limit = np.log(found.baseline) + np.log1p(-watched.protocol.smallest_change_percent / 100)
    since = trend.last_reading_at
    for at, level in zip(reversed(trend.history.at), trend.history.mean[::-1, column], strict=True):
        if level > limit:
            break
        since = at
    return None if since is None else since.date()
