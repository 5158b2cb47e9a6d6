"""Balance that leaves the athlete's own usual band by more than its noise.

Leaving the band is not enough: smoothed values move little, so the band is narrow. The 95 %
interval of the value now must also exclude the middle of the band. Where a strength involved is
already reported as falling, that item tells the story, and nothing is added here.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stillset_core.attention.decline import falling_sides
from stillset_core.attention.item import AttentionItem, Evidence, Watched
from stillset_core.balance import BandState, Ratio, SideGap
from stillset_core.numbers import Figure, day, interval, number
from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.trend import SeriesTrend
from stillset_core.trend.level import NORMAL_95

__all__ = [
    "RATIO_OUTSIDE",
    "SIDE_GAP_OUTSIDE",
    "SIDE_GAP_WIDENING",
    "ratio_outside_usual",
    "side_gap_outside_usual",
    "side_gap_widening",
]

RATIO_OUTSIDE = "ratio-outside-usual"
SIDE_GAP_WIDENING = "side-gap-widening"
SIDE_GAP_OUTSIDE = "side-gap-outside-usual"
WIDENED_OVER = timedelta(weeks=8)
FARTHER = timedelta(weeks=4)
"""A lead is compared with that of eight weeks ago, or up to four weeks farther back."""
OUTSIDE = (BandState.ABOVE, BandState.BELOW)


def ratio_outside_usual(watched: Watched) -> Iterator[AttentionItem]:
    """Report each side whose squeeze ÷ spread left the athlete's usual band."""
    if not watched.state.balances:
        return
    trend = watched.state.trends[0]
    falling = {side for _, side in falling_sides(watched)}
    for side in Side:
        ratio = watched.state.balances[0].ratio(side)
        excess = _excess(ratio.value, (ratio.low, ratio.high), (ratio.usual_low, ratio.usual_high))
        if ratio.state not in OUTSIDE or excess is None or side in falling:
            continue
        behind = min(trend.direction(direction).side(side).readings for direction in Direction)
        figure = Figure(ratio.value, ratio.low, ratio.high, "ratio", behind, trend.last_reading_at)
        band = interval(ratio.usual_low, ratio.usual_high, "ratio")
        yield AttentionItem(
            rule=RATIO_OUTSIDE,
            athlete=watched.athlete,
            direction=None,
            side=side,
            text=(
                f"Squeeze ÷ spread, {side.value}, is {figure.sentence},"
                f" {ratio.state.value} this athlete's usual {band}."
            ),
            evidence=_ratio_evidence(ratio),
            since=None if ratio.since is None else ratio.since.date(),
            weight=excess,
        )


def side_gap_outside_usual(watched: Watched) -> Iterator[AttentionItem]:
    """Report each direction whose side gap left the athlete's usual band and is beyond noise, unless it narrowed."""
    if not watched.state.balances:
        return
    trend = watched.state.trends[0]
    falling = {direction for direction, _ in falling_sides(watched)}
    for direction in Direction:
        gap = watched.state.balances[0].gap(direction)
        excess = _excess(gap.percent, (gap.low, gap.high), (gap.usual_low, gap.usual_high))
        if gap.state not in OUTSIDE or excess is None or direction in falling or not gap.beyond_noise or _narrowed(gap):
            continue
        behind = min(trend.direction(direction).side(side).readings for side in Side)
        figure = Figure(gap.percent, gap.low, gap.high, "%", behind, trend.last_reading_at, signed=True)
        band = interval(gap.usual_low, gap.usual_high, "%", signed=True)
        yield AttentionItem(
            rule=SIDE_GAP_OUTSIDE,
            athlete=watched.athlete,
            direction=direction,
            side=None,
            text=(
                f"Side gap in {direction.value} ({gap.formula.value}) is {figure.sentence}, beyond noise"
                f" and outside this athlete's usual {band}."
            ),
            evidence=_gap_evidence(gap),
            since=None if gap.since is None else gap.since.date(),
            weight=excess,
        )


def side_gap_widening(watched: Watched) -> Iterator[AttentionItem]:
    """Report that the stronger side's lead grew over eight weeks, by the smallest change and beyond its noise.

    The errors of the two smoothed leads are taken for independent. Truly they go together, so that the interval is
    too wide and the check rather silent. Silent where an item of the direction tells more: falling strength, or a
    gap outside the usual band.
    """
    if not watched.state.balances:
        return
    trend = watched.state.trends[0]
    told = {direction for direction, _ in falling_sides(watched)}
    told |= {item.direction for item in side_gap_outside_usual(watched) if item.direction is not None}
    smallest = math.log1p(watched.protocol.smallest_change_percent / 100)
    for direction in Direction:
        gap = watched.state.balances[0].gap(direction)
        lead = None if direction in told or not gap.beyond_noise else _lead(trend, direction)
        if lead is None or lead.growth < smallest or lead.growth <= lead.half or lead.now <= abs(lead.then):
            continue
        grown = [100 * math.expm1(log) for log in (lead.growth, lead.growth - lead.half, lead.growth + lead.half)]
        ahead, before = 100 * math.expm1(lead.now), 100 * math.expm1(lead.then)
        yield AttentionItem(
            rule=SIDE_GAP_WIDENING,
            athlete=watched.athlete,
            direction=direction,
            side=lead.side,
            text=(
                f"{lead.side.value.capitalize()} {direction.value} is ahead of the other side by {number(ahead, '%')},"
                f" {number(before, '%')} on {day(lead.at)}: grown by {number(grown[0], '%')}"
                f" (95 % {interval(grown[1], grown[2], '%')})."
            ),
            evidence={
                "lead_percent": ahead,
                "lead_before_percent": before,
                "before_on": day(lead.at),
                "growth_percent": grown[0],
                "low": grown[1],
                "high": grown[2],
            },
            since=lead.at.date(),
            weight=lead.growth,
        )


@dataclass(frozen=True, slots=True)
class _Lead:
    """Log lead of the stronger side now and at an earlier session end, and half the interval of its growth."""

    side: Side
    at: datetime
    now: float
    then: float
    half: float

    @property
    def growth(self) -> float:
        return self.now - self.then


def _lead(trend: SeriesTrend, direction: Direction) -> _Lead | None:
    """Compare the lead with that of the last session end at least eight weeks ago; None without one."""
    left, right = (STRENGTHS.index((direction, side)) for side in Side)
    history = trend.history
    rows = [
        row
        for row, at in enumerate(history.at)
        if history.seen[row, left]
        and history.seen[row, right]
        and WIDENED_OVER <= trend.as_of - at <= WIDENED_OVER + FARTHER
    ]
    if not rows:
        return None
    row = rows[-1]
    now, then = float(trend.mean[left] - trend.mean[right]), float(history.mean[row, left] - history.mean[row, right])
    sign = 1.0 if now > 0 else -1.0
    variance = _gap_variance(trend.covariance, left, right) + _gap_variance(history.covariance[row], left, right)
    side = Side.LEFT if now > 0 else Side.RIGHT
    return _Lead(side, history.at[row], sign * now, sign * then, NORMAL_95 * math.sqrt(variance))


def _gap_variance(covariance: NDArray[np.float64], left: int, right: int) -> float:
    return max(float(covariance[left, left] + covariance[right, right] - 2 * covariance[left, right]), 0.0)


def _narrowed(gap: SideGap) -> bool:
    """Whether the gap is on its usual side and smaller than usual."""
    percent, middle = gap.percent or 0.0, ((gap.usual_low or 0.0) + (gap.usual_high or 0.0)) / 2
    return percent * middle > 0 and abs(percent) < abs(middle)


def _excess(
    value: float | None, ends: tuple[float | None, float | None], band: tuple[float | None, float | None]
) -> float | None:
    """Distance from the middle of the band in half widths of the interval, or None if the interval holds the middle."""
    if value is None or ends[0] is None or ends[1] is None or band[0] is None or band[1] is None:
        return None
    middle = (band[0] + band[1]) / 2
    if ends[0] <= middle <= ends[1]:
        return None
    return abs(value - middle) / max(ends[1] - ends[0], 1e-12)


def _ratio_evidence(ratio: Ratio) -> dict[str, Evidence]:
    return {
        "value": ratio.value,
        "low": ratio.low,
        "high": ratio.high,
        "usual_low": ratio.usual_low,
        "usual_high": ratio.usual_high,
        "state": ratio.state.value,
        "over": "squeeze ÷ spread",
    }


def _gap_evidence(gap: SideGap) -> dict[str, Evidence]:
    return {
        "percent": gap.percent,
        "low": gap.low,
        "high": gap.high,
        "formula": gap.formula.value,
        "stronger": None if gap.stronger is None else gap.stronger.value,
        "beyond_noise": gap.beyond_noise,
        "usual_low": gap.usual_low,
        "usual_high": gap.usual_high,
        "state": gap.state.value,
    }
