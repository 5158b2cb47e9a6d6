"""Set-up: a bar that stands off within tolerance, or a position that is missed again and again."""

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta

from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.judged import JudgedSet
from stillset_core.judging.outcome import Remark
from stillset_core.numbers import day, interval, number
from stillset_core.records import StandardPosition

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
    judged = [one for one in watched.state.judged if one.standard is not None and not _off(one)]
    run: list[JudgedSet] = []
    for one in reversed(judged):
        if _caution(one) is None:
            break
        run.append(one)
    if not run or watched.age(run[0].record.performed_at) > RECENT:
        return
    caution, standard = _caution(run[0]), run[0].standard
    if caution is None or standard is None:
        return
    since = run[-1].record.performed_at.date()
    text, values = _drift(run, standard)
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
    rule, count = min(reasons.items(), key=lambda item: (-item[1], item[0]))
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
            **{f"by_{rule}": count for rule, count in sorted(reasons.items())},
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


def _drift(run: list[JudgedSet], standard: StandardPosition) -> tuple[str, tuple[float, ...]]:
    """Say where the stated set-ups of these sets lie against the standard, bar heights before knee angles."""
    heights = tuple(one.record.position.bar_height for one in run if one.record.position.bar_height is not None)
    if heights and standard.position.bar_height is not None:
        wanted = number(standard.position.bar_height, "scale")
        return f"Bar height stood at {interval(min(heights), max(heights), 'scale')}, not {wanted},", heights
    angles = tuple(one.record.position.knee_angle_deg for one in run if one.record.position.knee_angle_deg is not None)
    wanted = number(standard.position.knee_angle_deg, "deg")
    lowest, highest = min(angles, default=None), max(angles, default=None)
    return f"Knee angle stood at {interval(lowest, highest, 'deg')}, not {wanted},", angles
