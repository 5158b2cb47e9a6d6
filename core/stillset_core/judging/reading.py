"""The reps of one direction as one value for each side, brought to the protocol's rep count.

A best of six beats a best of one by luck alone. On the log scale the expected best of n maximal
reps lies E_n standard deviations between reps above the middle one, so that a best of n is moved by
the difference to E of the protocol's rep count.
"""

import math
from collections.abc import Sequence

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.order_statistics import expected_largest
from stillset_core.protocol import Protocol, Summary, Value
from stillset_core.records import Rep

__all__ = ["REP_SD", "adjusted", "bound", "counted"]

_PEAK, _BEST = Value.PEAK, Summary.BEST
REP_SD = 0.04
"""Standard deviation between the maximal reps of one set, on the log scale, where the protocol does not override it."""


def adjusted(value: float, reps: int, protocol: Protocol) -> float:
    """Bring the summary of some maximal reps to the protocol's rep count.

    Parameters
    ----------
    value : float
        Best or mean of the reps, in any unit.
    reps : int
        Number of reps behind it, at least 1.
    protocol : Protocol
        Gives the summary, the standard rep count n0 and, where overridden, ``rep_sd``.

    Returns
    -------
    float
        exp(ln value - (E_n - E_n0) rep_sd) for a best-of; a mean stays as it is.

    Examples
    --------
    >>> round(adjusted(312.0, 1, Protocol()), 1)
    322.7
    """
    if protocol.summary is not _BEST or reps == protocol.reps_standard:
        return value
    rep_sd = REP_SD if protocol.trend.rep_sd is None else protocol.trend.rep_sd
    return value * math.exp((expected_largest(protocol.reps_standard) - expected_largest(reps)) * rep_sd)


def counted(reps: Sequence[Rep], protocol: Protocol) -> Counted:
    """Summarise the counting reps of one direction.

    Parameters
    ----------
    reps : sequence of Rep
        The reps that count, at least one; under ``value = mean`` each with its mean.
    protocol : Protocol
        Gives the value, the summary and the rep count.

    Returns
    -------
    Counted
        SI values; None for a side that no rep measured. n of each side counts the reps that measured it.
    """
    lefts, rights = _values(reps, protocol)
    left, adjusted_left = _summary(lefts, protocol)
    right, adjusted_right = _summary(rights, protocol)
    return Counted(left, right, adjusted_left, adjusted_right, len(reps), len(lefts), len(rights))


def bound(reps: Sequence[Rep], protocol: Protocol) -> Bound:
    """Take the highest value of each side over reps that were not maximal: capacity was at least that."""
    lefts, rights = _values(reps, protocol)
    return Bound(max(lefts, default=None), max(rights, default=None))


def _values(reps: Sequence[Rep], protocol: Protocol) -> tuple[list[float], list[float]]:
    """Collect the values of each side, from the reps that measured it."""
    take_peak = protocol.value is _PEAK
    lefts: list[float] = []
    rights: list[float] = []
    for rep in reps:
        for force, values in ((rep.left, lefts), (rep.right, rights)):
            if force is not None:
                value = force.peak if take_peak else force.mean
                if value is not None:
                    values.append(value)
    return lefts, rights


def _summary(values: Sequence[float], protocol: Protocol) -> tuple[float | None, float | None]:
    """Give best or mean, and the same brought to the protocol's rep count."""
    if not values:
        return None, None
    value = max(values) if protocol.summary is _BEST else math.fsum(values) / len(values)
    return value, adjusted(value, len(values), protocol)
