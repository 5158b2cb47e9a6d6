"""Trend and balance of an athlete: levels with their intervals, changes, states, ratios and side gaps."""

from collections.abc import Callable, Sequence
from datetime import datetime

from stillset_core.balance import Balance, Ratio, SideGap
from stillset_core.pipeline import AthleteState
from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.return_to_level import MARKS, SeriesReturn, SideReturn
from stillset_core.trend import Level, SeriesTrend, SideTrend, level_of
from stillset_service.views.spelling import Json, in_utc, series_json, spelled_time

__all__ = ["balance_json", "history_json", "levels_json", "ratios_json", "side_gaps_json", "trend_json"]

Chooser = Callable[[datetime], bool]
"""Says whether an instant was asked for."""


def trend_json(
    state: AthleteState, *, history: Chooser | None = None, returns: Sequence[SeriesReturn | None] = ()
) -> Json:
    """Give the trend of every series of an athlete, the one used latest first.

    Parameters
    ----------
    state : AthleteState
        Derived as of one moment.
    history : Chooser or None
        Which points of the smoothed history are given; None gives no history at all.
    returns : sequence of SeriesReturn or None
        The way back of each series after an injury; empty without one.
    """
    series = [
        {**_series(trend, history), "return": _return(back)}
        for trend, back in zip(state.trends, returns or [None] * len(state.trends), strict=True)
    ]
    return {"as_of": in_utc(state.as_of), "series": series}


def balance_json(state: AthleteState) -> Json:
    """Give the balance of every series of an athlete, the one used latest first."""
    series = [
        {
            **series_json(trend.key),
            "readings": trend.readings,
            "last_reading_at": spelled_time(trend.last_reading_at),
            "ratio": ratios_json(balance),
            "side_gap": side_gaps_json(balance),
        }
        for trend, balance in zip(state.trends, state.balances, strict=True)
    ]
    return {"as_of": in_utc(state.as_of), "series": series}


def levels_json(trend: SeriesTrend) -> Json:
    """Give level, change and state of both directions and sides."""
    return {
        direction.value: {side.value: _level(trend.direction(direction).side(side)) for side in Side}
        for direction in Direction
    }


def history_json(trend: SeriesTrend, direction: Direction, side: Side, chosen: Chooser) -> list[Json]:
    """Give the smoothed history of one side, from its first counting reading on.

    Before that there is nothing of this side to smooth, only what other sides say about it.
    """
    column = STRENGTHS.index((direction, side))
    smoothed = trend.history
    points = zip(
        smoothed.at,
        smoothed.mean[:, column],
        smoothed.covariance[:, column, column],
        smoothed.seen[:, column],
        strict=True,
    )
    return [
        {"at": spelled_time(at), **_interval(level_of(float(mean), float(variance)))}
        for at, mean, variance, seen in points
        if seen and chosen(at)
    ]


def ratios_json(balance: Balance) -> Json:
    """Give squeeze ÷ spread of both sides."""
    return {side.value: _ratio(balance.ratio(side)) for side in Side}


def side_gaps_json(balance: Balance) -> Json:
    """Give left against right of both directions."""
    return {direction.value: _side_gap(balance.gap(direction)) for direction in Direction}


def _series(trend: SeriesTrend, history: Chooser | None) -> Json:
    levels = {
        direction.value: {
            side.value: _level(trend.direction(direction).side(side))
            | ({} if history is None else {"history": history_json(trend, direction, side, history)})
            for side in Side
        }
        for direction in Direction
    }
    return {
        **series_json(trend.key),
        "readings": trend.readings,
        "at_least": trend.at_least,
        "last_reading_at": spelled_time(trend.last_reading_at),
        **levels,
    }


def _level(side: SideTrend) -> Json:
    return {
        "level": side.level,
        "low": side.low,
        "high": side.high,
        "weekly_percent": side.weekly_percent,
        "change_percent": side.change_percent,
        "change_low": side.change_low,
        "change_high": side.change_high,
        "probability_below": side.probability_below,
        "probability_above": side.probability_above,
        "state": side.state.value,
        "at_least": side.at_least,
        "readings": side.readings,
        "baseline": side.baseline,
    }


def _return(back: SeriesReturn | None) -> Json | None:
    if back is None:
        return None
    sides = {
        direction.value: {side.value: _side_return(back.sides.get((direction, side))) for side in Side}
        for direction in Direction
    }
    return {"injured_on": back.injured_on.isoformat(), **sides}


def _side_return(back: SideReturn | None) -> Json | None:
    if back is None:
        return None
    percent, reached = back.percent, back.reached or (None, None, None)
    return {
        "baseline": _interval(back.baseline),
        "readings_since": back.readings_since,
        "percent": None if percent is None else percent.level,
        "low": None if percent is None else percent.low,
        "high": None if percent is None else percent.high,
        **{f"reached_{mark}": probability for mark, probability in zip(MARKS, reached, strict=True)},
    }


def _interval(level: Level) -> Json:
    return {"level": level.level, "low": level.low, "high": level.high}


def _ratio(ratio: Ratio) -> Json:
    return {
        "value": ratio.value,
        "low": ratio.low,
        "high": ratio.high,
        "usual_low": ratio.usual_low,
        "usual_high": ratio.usual_high,
        "state": ratio.state.value,
    }


def _side_gap(gap: SideGap) -> Json:
    return {
        "percent": gap.percent,
        "low": gap.low,
        "high": gap.high,
        "formula": gap.formula.value,
        "stronger": None if gap.stronger is None else gap.stronger.value,
        "beyond_noise": gap.beyond_noise,
        "consistent_percent": None if gap.lead is None else gap.lead.percent,
        "consistent_sessions": None if gap.lead is None else gap.lead.sessions,
        "in_words": gap.in_words,
        "usual_low": gap.usual_low,
        "usual_high": gap.usual_high,
        "state": gap.state.value,
    }
