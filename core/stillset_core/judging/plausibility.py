"""Rules of possibility: values that no athlete produces, and values that are not there.

The limits are fixed and never the athlete's: impossibility is a rule, surprise is not.
"""

from stillset_core.judging.context import SetContext
from stillset_core.judging.limits import is_above, number
from stillset_core.judging.outcome import Remark
from stillset_core.protocol import Value
from stillset_core.records import Quantity, Rep

__all__ = ["HIGHEST_PEAK", "no_mean", "out_of_range"]

HIGHEST_PEAK = {Quantity.FORCE: 5_000.0, Quantity.TORQUE: 1_500.0, Quantity.PRESSURE: 200_000.0}
"""Highest peak of one side that is taken for real, in the SI unit of the quantity (API contract)."""
_NEVER_TOO_HIGH = min(HIGHEST_PEAK.values())
_PEAK = Value.PEAK
_UNIT_IN_TEXT = {Quantity.FORCE: "N", Quantity.TORQUE: "N·m", Quantity.PRESSURE: "Pa"}


def out_of_range(context: SetContext, rep: Rep) -> Remark | None:
    """Find a peak beyond what anybody produces."""
    higher = rep.left
    if higher is None or (rep.right is not None and rep.right.peak > higher.peak):
        higher = rep.right
    seen = 0.0 if higher is None else higher.peak
    if seen <= _NEVER_TOO_HIGH:
        return None
    quantity = context.record.quantity
    limit = HIGHEST_PEAK[quantity]
    if not is_above(seen, limit):
        return None
    unit = _UNIT_IN_TEXT[quantity]
    text = f"Peak {number(seen)} {unit}; nothing above {number(limit)} {unit} per side is taken for real."
    return Remark("out-of-range", seen, limit, text)


def no_mean(context: SetContext, rep: Rep) -> Remark | None:
    """Ask for the mean of each measured side where the protocol's value is the mean."""
    if context.protocol.value is _PEAK:
        return None
    left, right = rep.left, rep.right
    if (left is None or left.mean is not None) and (right is None or right.mean is not None):
        return None
    return Remark("no-mean", "no mean", "mean", "The rep has no mean force; the protocol's value is the mean.")
