"""Set-up: a bar that stands off within tolerance, or a position that is missed again and again."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import timedelta

from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.attention.reasons import by_rule, commonest
from stillset_core.judged import JudgedSet
from stillset_core.judging.outcome import Remark
from stillset_core.numbers import day, interval, number
from stillset_core.records import Position, StandardPosition

__all__ = ["POSITION_OFTEN_OFF", "SET_UP_DRIFT", "position_often_off", "set_up_drift"]

POSITION_OFTEN_OFF = "position-often-off"
SET_UP_DRIFT = "set-up-drift"

RECENT = timedelta(days=14)
FEWEST_OFF = 3
"""Sets off position within 14 days before they are remarked on."""
POSITION_RULES = frozenset(
    {"other-position", "knee-angle-off", "bar-height-off", "position-unverified", "no-standard-position"}
)


def set_up_drift(watched: Watched) -> Iterator[AttentionItem]:
    """Report that the latest sets carry the caution about a drifting set-up."""
    run: list[tuple[JudgedSet, StandardPosition, Remark]] = []
    for one in reversed(watched.state.judged):
        if one.standard is None or one.record.instrument.kind is not one.standard.instrument_kind or _off(one):
            continue
        caution = _caution(one)
        if caution is None:
            break
        run.append((one, one.standard, caution))
    if not run or watched.age(run[0][0].record.performed_at) > RECENT:
        return
    _, standard, caution = run[0]
    since = run[-1][0].record.performed_at.date()
    text, values = _drift([one.record.position for one, _, _ in run], standard.position)
    yield AttentionItem(
        rule=SET_UP_DRIFT,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=f"{text} in {len(run)} sets since {day(since)}: measure the position again.",
        evidence={"seen": caution.seen, "standard": caution.needed, "values": values, "sets": len(run)},
        since=since,
        weight=float(len(run)),
    )


def position_often_off(watched: Watched) -> Iterator[AttentionItem]:
    """Report several sets lately that a position rule set aside."""
    recent = [one for one in watched.state.judged if watched.age(one.record.performed_at) <= RECENT]
    off = [one for one in recent if _off(one)]
    if len(off) < FEWEST_OFF:
        return
    reasons = Counter(rule for one in off for rule in _off(one))
    rule, count = commonest(reasons)
    yield AttentionItem(
        rule=POSITION_OFTEN_OFF,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=(
            f"{len(off)} of {len(recent)} sets of the last {RECENT.days} days were not in the standard position,"
            f" most often by {rule} ({count}): check the set-up."
        ),
        evidence={
            "off": len(off),
            "sets": len(recent),
            "days": RECENT.days,
            **by_rule(reasons),
        },
        since=off[0].record.performed_at.date(),
        weight=len(off) / len(recent),
    )


def _off(judged: JudgedSet) -> set[str]:
    """Position rules that set a direction of this set aside."""
    return {remark.rule for outcome in judged.outcome for remark in outcome.reasons} & POSITION_RULES


def _caution(judged: JudgedSet) -> Remark | None:
    cautions = (remark for outcome in judged.outcome for remark in outcome.cautions)
    return next((remark for remark in cautions if remark.rule == SET_UP_DRIFT), None)


def _drift(stated: Sequence[Position], standard: Position) -> tuple[str, tuple[float, ...]]:
    """Say where the stated set-ups lie against the standard, bar heights before knee angles."""
    heights = tuple(one.bar_height for one in stated if one.bar_height is not None)
    if heights and standard.bar_height is not None:
        wanted = number(standard.bar_height, "scale")
        return f"Bar height stood at {interval(min(heights), max(heights), 'scale')}, not {wanted},", heights
    angles = tuple(one.knee_angle_deg for one in stated if one.knee_angle_deg is not None)
    wanted = number(standard.knee_angle_deg, "deg")
    ends = interval(min(angles, default=None), max(angles, default=None), "deg")
    return f"Knee angle stood at {ends}, not {wanted},", angles
