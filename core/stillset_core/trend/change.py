"""Change since the baseline, how sure it is, and the one word that sums it up."""

import math
from dataclasses import dataclass
from enum import StrEnum

from stillset_core.trend.level import LARGEST_LOG, NORMAL_95

__all__ = ["Change", "State", "change_of", "normal_cdf", "state_of"]

SURE = 0.90
"""Probability from which a change is called falling or rising."""
HOLDS = 0.75
"""Probability of no change worth the name from which a level is called holding."""


class State(StrEnum):
    """Where a level is going."""

    TOO_FEW = "too_few"
    UNSURE = "unsure"
    HOLDING = "holding"
    RISING = "rising"
    FALLING = "falling"


@dataclass(frozen=True, slots=True)
class Change:
    """Change since the baseline in per cent with its central 95 % interval, and two probabilities.

    Attributes
    ----------
    percent, low, high : float
    probability_below, probability_above : float
        That the true change is a fall, or a rise, by more than the smallest change of the protocol.
    """

    percent: float
    low: float
    high: float
    probability_below: float
    probability_above: float


def change_of(mean: float, variance: float, smallest_percent: float) -> Change:
    """Change from the moments of level minus baseline on the log scale.

    Parameters
    ----------
    mean, variance : float
        Of the log level minus the log baseline.
    smallest_percent : float
        Smallest change that matters, in per cent.

    Returns
    -------
    Change
    """
    sd = math.sqrt(max(variance, 0.0))
    fall, rise = math.log1p(-smallest_percent / 100), math.log1p(smallest_percent / 100)
    return Change(
        percent=_percent(mean),
        low=_percent(mean - NORMAL_95 * sd),
        high=_percent(mean + NORMAL_95 * sd),
        probability_below=normal_cdf(fall - mean, sd),
        probability_above=normal_cdf(mean - rise, sd),
    )


def state_of(change: Change, *, in_alarm: bool) -> State:
    """State of a side whose baseline is complete; `in_alarm` if a call of a decline stands for it."""
    if in_alarm or change.probability_below >= SURE:
        return State.FALLING
    if change.probability_above >= SURE:
        return State.RISING
    if 1 - change.probability_below - change.probability_above >= HOLDS:
        return State.HOLDING
    return State.UNSURE


def _percent(change: float) -> float:
    """Per cent of a change on the log scale."""
    return 100 * math.expm1(min(change, LARGEST_LOG))


def normal_cdf(distance: float, sd: float) -> float:
    """Share of a centred normal distribution below a distance; a step where it has no spread."""
    if sd == 0.0:
        return 1.0 if distance > 0 else 0.0
    return 0.5 * math.erfc(-distance / sd / math.sqrt(2))
