"""Rules of position: whether a set was done in the athlete's own standard position.

A set without a standard to hold it against is stopped by ``no-standard-position`` alone.
"""

from stillset_core.judging.context import SetContext
from stillset_core.judging.limits import is_above, number
from stillset_core.judging.outcome import Remark

__all__ = [
    "bar_height_off",
    "in_position",
    "knee_angle_off",
    "no_standard_position",
    "other_position",
    "position_unverified",
]


def no_standard_position(context: SetContext) -> Remark | None:
    """Ask for a standard position that was valid when the set was done."""
    if context.standard is not None:
        return None
    text = "No standard position was on file for this athlete when the set was done."
    return Remark("no-standard-position", "none", "a standard position", text)


def other_position(context: SetContext) -> Remark | None:
    """Compare the position's name and, if both state one, the foot mark."""
    if context.standard is None:
        return None
    seen, needed = context.record.position, context.standard.position
    if seen.name != needed.name:
        text = f"Done in the position {seen.name}; the standard position is {needed.name}."
        return Remark("other-position", seen.name, needed.name, text)
    if seen.foot_mark is None or needed.foot_mark is None or seen.foot_mark == needed.foot_mark:
        return None
    text = f"Foot mark {seen.foot_mark}; the standard position has {needed.foot_mark}."
    return Remark("other-position", seen.foot_mark, needed.foot_mark, text)


def knee_angle_off(context: SetContext) -> Remark | None:
    """Compare the knee angle, if both the set and the standard state one."""
    if context.standard is None:
        return None
    seen, needed = context.record.position.knee_angle_deg, context.standard.position.knee_angle_deg
    tolerance = context.protocol.knee_angle_tolerance_deg
    if seen is None or needed is None or not is_above(abs(seen - needed), tolerance):
        return None
    text = f"Knee angle {number(seen)}°; the standard position has {number(needed)}°, within {number(tolerance)}°."
    return Remark("knee-angle-off", seen, needed, text)


def bar_height_off(context: SetContext) -> Remark | None:
    """Compare the bar height, if both the set and the standard state one."""
    if context.standard is None:
        return None
    seen, needed = context.record.position.bar_height, context.standard.position.bar_height
    tolerance = context.protocol.bar_height_tolerance
    if seen is None or needed is None or not is_above(abs(seen - needed), tolerance):
        return None
    text = f"Bar height {number(seen)}; the standard position has {number(needed)}, within {number(tolerance)}."
    return Remark("bar-height-off", seen, needed, text)


def position_unverified(context: SetContext) -> Remark | None:
    """Ask for a knee angle or a bar height that both the set and the standard state."""
    if context.standard is None:
        return None
    seen, needed = context.record.position, context.standard.position
    if seen.bar_height is not None and needed.bar_height is not None:
        return None
    if seen.knee_angle_deg is not None and needed.knee_angle_deg is not None:
        return None
    text = "Neither a knee angle nor a bar height is stated by both the set and the standard position."
    return Remark("position-unverified", "neither", "knee angle or bar height", text)


def in_position(context: SetContext) -> bool:
    """Tell whether no position rule sets the set aside."""
    return (
        no_standard_position(context) is None
        and other_position(context) is None
        and knee_angle_off(context) is None
        and bar_height_off(context) is None
        and position_unverified(context) is None
    )
