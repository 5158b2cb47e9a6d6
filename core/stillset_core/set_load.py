"""The work of one set, whether or not it counts as strength.

The impulse of a rep is its mean force times its hold time, summed over both sides; a rep without a
mean lends its peak, which reads a little high. Only force makes an impulse: torque (N·m) and
pressure (Pa) have none in newton-seconds.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from stillset_core.records import Quantity, Rep, SetRecord

__all__ = ["SetLoad", "set_load"]


_FORCE = Quantity.FORCE


@dataclass(frozen=True, slots=True)
class SetLoad:
    """Work of one set: number of reps, seconds held, impulse in N·s (None if no force was measured)."""

    reps: int
    hold_s: float
    impulse_n_s: float | None


def set_load(record: SetRecord) -> SetLoad:
    """Sum the work of one set, also of one that was set aside.

    Parameters
    ----------
    record : SetRecord
        The set, in SI units.

    Returns
    -------
    SetLoad
        Reps, hold seconds, and N·s over both sides of all reps; None for other quantities and beyond double precision.
    """
    impulse = _finite_sum(_impulses(record.reps)) if record.quantity is _FORCE else None
    return SetLoad(len(record.reps), math.fsum(rep.hold_s for rep in record.reps), impulse)


def _finite_sum(values: Iterable[float]) -> float | None:
    """Sum the values; None beyond double precision, which forces near its limit can reach."""
    try:
        total = math.fsum(values)
    except OverflowError:
        return None
    return total if math.isfinite(total) else None


def _impulses(reps: Iterable[Rep]) -> Iterable[float]:
    for rep in reps:
        for force in (rep.left, rep.right):
            if force is not None:
                yield (force.peak if force.mean is None else force.mean) * rep.hold_s
