"""Cautions: what to keep in mind beside a standing. None of them changes it."""

from collections.abc import Sequence

from stillset_core.judging.context import SetContext, Stated
from stillset_core.judging.limits import is_above, is_below, number
from stillset_core.judging.outcome import Remark
from stillset_core.judging.position import in_position
from stillset_core.records import PainWhen, Quantity, Rep

__all__ = [
    "LARGEST_OFFSET",
    "SETS_IN_DRIFT",
    "STEADY_SHARE",
    "drifting_side",
    "instrument_check_overdue",
    "not_zeroed",
    "one_side_only",
    "pain_during_set",
    "set_up_drift",
    "stated",
    "trace_offset",
    "unsteady_hold",
]

STEADY_SHARE = 0.70
"""Mean over peak below which a hold was unsteady (API contract)."""
SETS_IN_DRIFT = 5
"""So many stated set-ups in a row make a drift (API contract)."""
LARGEST_OFFSET = {Quantity.FORCE: 10.0, Quantity.TORQUE: 3.0, Quantity.PRESSURE: 400.0}
"""Largest resting value of a trace without a caution, in SI; N from the API contract, the others: common practice,
no source."""
_UNIT_IN_TEXT = {Quantity.FORCE: "N", Quantity.TORQUE: "N·m", Quantity.PRESSURE: "Pa"}


def pain_during_set(context: SetContext) -> Remark | None:
    """Report pain felt during the set, from the protocol's caution score on, or stated without a score."""
    pain = context.record.pain
    if pain is None or pain.when is not PainWhen.DURING:
        return None
    limit = context.protocol.pain_caution_score
    if pain.score is None:
        if not pain.present:
            return None
        return Remark("pain-during-set", "present", limit, "Pain during the set, without a score.")
    if is_below(pain.score, limit):
        return None
    text = f"Pain {number(pain.score)} of 10 during the set; the protocol cautions from {number(limit)} of 10."
    return Remark("pain-during-set", pain.score, limit, text)


def instrument_check_overdue(context: SetContext) -> Remark | None:
    """Count the days since the instrument was last checked, by the local date of the set."""
    checked_on = context.record.instrument.checked_on
    if checked_on is None:
        return None
    seen = (context.record.performed_at.date() - checked_on).days
    limit = context.protocol.instrument_check_days
    if not is_above(seen, limit):
        return None
    text = f"The instrument was last checked {seen} days before; the protocol allows {number(limit)} days."
    return Remark("instrument-check-overdue", seen, limit, text)


def not_zeroed(context: SetContext) -> Remark | None:
    """Report an instrument that was stated not to be zeroed."""
    if context.record.instrument.zeroed is not False:
        return None
    return Remark("not-zeroed", "not zeroed", "zeroed", "The instrument was not zeroed before the set.")


def trace_offset(context: SetContext) -> Remark | None:
    """Report a trace that did not rest near zero; the offset was subtracted."""
    trace = context.record.trace
    if trace is None:
        return None
    seen = max((trace.offset_left or 0.0, trace.offset_right or 0.0), key=abs)
    quantity = context.record.quantity
    limit = LARGEST_OFFSET[quantity]
    if not is_above(abs(seen), limit):
        return None
    unit = _UNIT_IN_TEXT[quantity]
    text = (
        f"The trace rests at {number(round(seen, 6))} {unit}; more than {number(limit)} {unit} either way"
        " is not near zero. It was subtracted."
    )
    return Remark("trace-offset", seen, limit, text)


def set_up_drift(context: SetContext) -> Remark | None:
    """Report set-ups that lie, five in a row, on one side of the standard, each within tolerance.

    Bar heights decide if the series states any, else knee angles.
    """
    if max(len(context.set_up.bar_heights), len(context.set_up.knee_angles)) < SETS_IN_DRIFT - 1:
        return None
    own_height, own_angle = stated(context)
    heights = context.set_up.bar_heights if own_height is None else (*context.set_up.bar_heights, own_height)
    if heights:
        return _drift("bar heights", heights, context.protocol.bar_height_tolerance)
    angles = context.set_up.knee_angles if own_angle is None else (*context.set_up.knee_angles, own_angle)
    return _drift("knee angles", angles, context.protocol.knee_angle_tolerance_deg)


def stated(context: SetContext) -> tuple[Stated | None, Stated | None]:
    """Give the bar height and the knee angle that both the set and its standard state, each with the standard's.

    A set that a position rule set aside states nothing here.
    """
    standard = context.standard
    if standard is None or not in_position(context):
        return None, None
    seen, needed = context.record.position, standard.position
    return _pair(seen.bar_height, needed.bar_height), _pair(seen.knee_angle_deg, needed.knee_angle_deg)


def _pair(seen: float | None, needed: float | None) -> Stated | None:
    return None if seen is None or needed is None else (seen, needed)


def drifting_side(value: Stated, tolerance: float) -> int:
    """Give +1 or -1 for a value above or below the standard by more than half the tolerance, else 0."""
    off = value[0] - value[1]
    if is_above(off, tolerance / 2):
        return 1
    return -1 if is_below(off, -tolerance / 2) else 0


def _drift(what: str, values: Sequence[Stated], tolerance: float) -> Remark | None:
    last = values[-SETS_IN_DRIFT:]
    if len(last) < SETS_IN_DRIFT:
        return None
    side = drifting_side(last[-1], tolerance)
    if side == 0 or any(drifting_side(value, tolerance) != side for value in last):
        return None
    seen, standard = last[-1]
    where = "above" if side > 0 else "below"
    text = (
        f"The last five {what} all lie {where} the standard position's by more than half the tolerance"
        f" of {number(tolerance)}; the latest is {number(seen)}, the standard {number(standard)}."
    )
    return Remark("set-up-drift", seen, standard, text)


def one_side_only(_context: SetContext, reps: Sequence[Rep], _counting: Sequence[Rep]) -> Remark | None:
    """Report a direction whose reps measured the same one side throughout."""
    if reps and reps[0].left is not None and reps[0].right is not None:
        return None  # as nearly always, settled by the first rep
    left = any(rep.left is not None for rep in reps)
    right = any(rep.right is not None for rep in reps)
    if left == right:
        return None
    side = "left" if left else "right"
    return Remark("one-side-only", side, "both sides", f"Only the {side} side was measured.")


def unsteady_hold(_context: SetContext, _reps: Sequence[Rep], counting: Sequence[Rep]) -> Remark | None:
    """Report a counting rep whose mean lies far below its peak."""
    for rep in counting:
        for force in (rep.left, rep.right):
            if force is not None and force.mean is not None and is_below(force.mean / force.peak, STEADY_SHARE):
                seen = force.mean / force.peak
                text = (
                    f"The mean force is {number(round(100 * seen, 4))} % of the peak;"
                    f" a steady hold has at least {number(100 * STEADY_SHARE)} %."
                )
                return Remark("unsteady-hold", seen, STEADY_SHARE, text)
    return None
