"""Tiny drawn pictures for a row: the smoothed levels of one direction over the last weeks, and the interval now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from stillset_core.records import Direction, Side
from stillset_core.trend import SeriesTrend

__all__ = ["PICTURE_WEEKS", "TrendPicture", "trend_picture"]

SIDES = tuple(Side)
PICTURE_WEEKS = 20
"""How far back a picture looks, weeks (a choice, no source)."""
WIDTH, HEIGHT = 100.0, 40.0
MARGIN = 3.0
MAX_POINTS = 26
SMALLEST_HALF_RANGE = 0.12
"""The picture never magnifies less than ±12 % to its full height, so that noise does not look like a trend."""


@dataclass(frozen=True, slots=True)
class TrendPicture:
    """Paths in a box of 100 by 40: both lines, the 95 % interval at the end of each, and the baselines."""

    left: str
    right: str
    left_now: str
    right_now: str
    left_base: str
    right_base: str


def trend_picture(trend: SeriesTrend, direction: Direction, measured: Sequence[bool]) -> TrendPicture | None:
    """Draw the last weeks of one direction; None before two sessions are there.

    Parameters
    ----------
    trend : SeriesTrend
    direction : Direction
    measured : sequence of bool, left and right
        Whether the side has a level at all.
    """
    start = trend.as_of - timedelta(weeks=PICTURE_WEEKS)
    kept = [index for index, at in enumerate(trend.history.at) if start <= at <= trend.as_of]
    if len(kept) < 2 or not any(measured):
        return None
    kept = sorted({*kept[:: max(1, len(kept) // MAX_POINTS)], kept[-1]})
    first = 0 if direction is Direction.SQUEEZE else 2
    x = np.array([_x(trend.history.at[index], start) for index in kept])
    lines = trend.history.mean[kept, first : first + 2]
    now = trend.mean[first : first + 2]
    sd = np.sqrt(np.diagonal(trend.covariance)[first : first + 2])
    shown = np.vstack([lines, now])[:, list(measured)]
    middle = float((shown.max() + shown.min()) / 2)
    half = max(float(shown.max() - shown.min()) / 2 * 1.25, SMALLEST_HALF_RANGE)

    def y(log_level: float) -> float:
        return min(max(HEIGHT / 2 - (log_level - middle) / half * (HEIGHT / 2 - MARGIN), 0.0), HEIGHT)

    sides = []
    for side in (0, 1):
        if not measured[side]:
            sides.append(("", "", ""))
            continue
        points = [*zip(x, [y(level) for level in lines[:, side]], strict=True), (WIDTH - MARGIN, y(float(now[side])))]
        bar_x = WIDTH - MARGIN + (2 * side - 1) * 1.2
        bar = f"M{bar_x:.0f} {y(float(now[side] + 1.96 * sd[side])):.0f}V{y(float(now[side] - 1.96 * sd[side])):.0f}"
        baseline = trend.direction(direction).side(SIDES[side]).baseline
        base = "" if baseline is None else f"M0 {y(float(np.log(baseline))):.0f}H{WIDTH:.0f}"
        sides.append((_path(points), bar, base))
    (left, left_now, left_base), (right, right_now, right_base) = sides
    return TrendPicture(left, right, left_now, right_now, left_base, right_base)


def _x(at: datetime, start: datetime) -> float:
    return (at - start) / timedelta(weeks=PICTURE_WEEKS) * (WIDTH - MARGIN)


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in points)
