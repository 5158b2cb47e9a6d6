"""Ratios of what is measured to its ceiling: round by round, so that a busy moment of the machine touches both."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

__all__ = ["Ratio", "as_rate", "as_speed_up", "as_time"]


@dataclass(frozen=True, slots=True)
class Ratio:
    """One line of the table.

    Attributes
    ----------
    name : str
        Of the benchmark, as ``--only`` takes it.
    measured, ceiling : str
        What was measured, and what it is held against.
    value, ceiling_value : float
        Medians, in ``unit``.
    ratio : float
        Median over the rounds of the ratio within each.
    goal : float or None
        None for a line that is only for information.
    at_least : bool
        Whether the goal is a least or a largest ratio.
    """

    name: str
    measured: str
    ceiling: str
    value: float
    ceiling_value: float
    unit: str
    ratio: float
    goal: float | None
    at_least: bool

    @property
    def reached(self) -> bool | None:
        """Whether the goal is reached; None without a goal."""
        if self.goal is None:
            return None
        return self.ratio >= self.goal if self.at_least else self.ratio <= self.goal


def as_rate(
    name: str, measured: str, rates: Sequence[float], ceilings: dict[str, Sequence[float]], goal: float
) -> Ratio:
    """Hold rates of each round against the lower of some ceilings; more is better."""
    lowest = min(ceilings, key=lambda one: median(ceilings[one]))
    paired = median(rate / ceiling for rate, ceiling in zip(rates, ceilings[lowest], strict=True))
    return Ratio(name, measured, lowest, median(rates), median(ceilings[lowest]), "sets/s", paired, goal, at_least=True)


def as_time(
    name: str, measured: str, seconds: Sequence[float], ceiling: tuple[str, Sequence[float]], goal: float | None
) -> Ratio:
    """Hold the time of each round against that of a ceiling; less is better."""
    paired = median(time / limit for time, limit in zip(seconds, ceiling[1], strict=True))
    time_ms, limit_ms = 1000 * median(seconds), 1000 * median(ceiling[1])
    return Ratio(name, measured, ceiling[0], time_ms, limit_ms, "ms", paired, goal, at_least=False)


def as_speed_up(
    name: str, measured: str, seconds: Sequence[float], ceiling: tuple[str, Sequence[float]], goal: float | None
) -> Ratio:
    """Tell how many times each round is faster than its ceiling; more is better."""
    paired = median(limit / time for time, limit in zip(seconds, ceiling[1], strict=True))
    time_ms, limit_ms = 1000 * median(seconds), 1000 * median(ceiling[1])
    return Ratio(name, measured, ceiling[0], time_ms, limit_ms, "ms", paired, goal, at_least=True)
