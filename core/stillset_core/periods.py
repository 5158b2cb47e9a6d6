"""Dated spans of an athlete: injury, rehabilitation, break, baseline, competition."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

__all__ = ["Period", "PeriodKind", "latest_injury", "running_away"]


class PeriodKind(StrEnum):
    """What a period is about."""

    INJURY = "injury"
    REHABILITATION = "rehabilitation"
    BREAK = "break"
    BASELINE = "baseline"
    COMPETITION = "competition"


AWAY = (PeriodKind.INJURY, PeriodKind.REHABILITATION, PeriodKind.BREAK)
"""Periods in which an athlete does not train as usual."""


@dataclass(frozen=True, slots=True)
class Period:
    """A span of days, both ends included; ``until`` is None while it is open."""

    kind: PeriodKind
    begin: date
    until: date | None = None

    def runs_on(self, day: date) -> bool:
        """Whether a day lies in it."""
        return self.begin <= day and (self.until is None or day <= self.until)


def running_away(periods: Iterable[Period], day: date) -> tuple[Period, ...]:
    """Find the injuries, rehabilitations and breaks that run on a day, earliest first."""
    running = [period for period in periods if period.kind in AWAY and period.runs_on(day)]
    return tuple(sorted(running, key=lambda period: (period.begin, AWAY.index(period.kind))))


def latest_injury(periods: Iterable[Period], day: date) -> Period | None:
    """Find the injury that began last, on a day or before it."""
    injuries = [period for period in periods if period.kind is PeriodKind.INJURY and period.begin <= day]
    return max(injuries, key=lambda period: period.begin, default=None)
