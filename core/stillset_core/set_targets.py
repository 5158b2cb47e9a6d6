"""Force to hold for a planned share of today's level, side by side."""

from dataclasses import dataclass

from stillset_core.records import STRENGTHS, Direction, Side
from stillset_core.trend import SeriesTrend

__all__ = ["SHARES_PERCENT", "SetTarget", "targets_of"]

SHARES_PERCENT = (50, 75, 85, 95)
"""Warm-up at 50 and 75 %, hard and nearly maximal work: common practice, no source."""


@dataclass(frozen=True, slots=True)
class SetTarget:
    """Force of one side for one planned share.

    Attributes
    ----------
    direction, side : Direction, Side
    percent : int
        Share of the level.
    force, low, high : float
        That share of the level and of the ends of its 95 % interval, in the unit of the series.
    """

    direction: Direction
    side: Side
    percent: int
    force: float
    low: float
    high: float


def targets_of(trend: SeriesTrend) -> tuple[SetTarget, ...]:
    """Give the targets of a series.

    Parameters
    ----------
    trend : SeriesTrend
        Its levels are of today, ``as_of``.

    Returns
    -------
    tuple of SetTarget
        In the order of the strengths, lightest first; none for a side without a level. Each side has its own:
        a share of the stronger side would be more than that of the weaker.
    """
    targets: list[SetTarget] = []
    for direction, side in STRENGTHS:
        now = trend.direction(direction).side(side)
        if now.level is None or now.low is None or now.high is None:
            continue
        ends = (now.level, now.low, now.high)
        for percent in SHARES_PERCENT:
            force, low, high = (percent / 100 * end for end in ends)
            targets.append(SetTarget(direction, side, percent, force, low, high))
    return tuple(targets)
