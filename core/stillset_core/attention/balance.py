"""Balance that leaves the athlete's own usual band by more than its noise.

Leaving the band is not enough: smoothed values move little, so the band is narrow. The 95 %
interval of the value now must also exclude the middle of the band. Where a strength involved is
already reported as falling, that item tells the story, and nothing is added here.
"""

from collections.abc import Iterator

from stillset_core.attention.decline import falling_sides
from stillset_core.attention.item import AttentionItem, Evidence, Watched
from stillset_core.balance import BandState, Ratio, SideGap
from stillset_core.numbers import Figure, interval
from stillset_core.records import Direction, Side

__all__ = ["RATIO_OUTSIDE", "SIDE_GAP_OUTSIDE", "ratio_outside_usual", "side_gap_outside_usual"]

RATIO_OUTSIDE = "ratio-outside-usual"
SIDE_GAP_OUTSIDE = "side-gap-outside-usual"
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
