"""Load: a week with far more held than the athlete's own four weeks before it.

The sums are shown as they are. No ratio of acute to chronic load is made of them: it is coupled by
construction, and no mark for it is backed by evidence in strength work.
"""

from collections.abc import Iterator
from datetime import UTC, date, timedelta

from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.load import week_of
from stillset_core.load_pattern import load_patterns
from stillset_core.numbers import number

__all__ = ["LOAD_JUMP", "load_jump"]

LOAD_JUMP = "load-jump"

LARGEST_RISE_PERCENT = 100.0
"""A week of twice the usual is remarked on: common practice, no source."""
FEWEST_MORE_S = 60.0
"""And only if it is at least a minute of holding more: twice of little is little."""


def load_jump(watched: Watched) -> Iterator[AttentionItem]:
    """Report that the last whole week held at least twice the mean of the athlete's four weeks before it."""
    monday = _last_monday_over(watched)
    week = week_of(monday)
    pattern = load_patterns(watched.state.judged, watched.state.as_of).get(week)
    if pattern is None or pattern.change_percent is None or pattern.previous_four_weeks_hold_s is None:
        return
    before = pattern.previous_four_weeks_hold_s
    held = before * (1 + pattern.change_percent / 100)
    if pattern.change_percent < LARGEST_RISE_PERCENT or held - before < FEWEST_MORE_S:
        return
    yield AttentionItem(
        rule=LOAD_JUMP,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=(
            f"{number(held, 's')} held in week {week}, against a mean of {number(before, 's')} a week"
            " in the four weeks before."
        ),
        evidence={
            "week": week,
            "hold_s": held,
            "previous_four_weeks_hold_s": before,
            "change_percent": pattern.change_percent,
        },
        since=monday,
        weight=pattern.change_percent,
    )


def _last_monday_over(watched: Watched) -> date:
    """Monday of the last week that is over, in UTC."""
    day = (watched.state.as_of.astimezone(UTC) + timedelta(microseconds=1)).date()
    return day - timedelta(days=day.weekday() + 7)
