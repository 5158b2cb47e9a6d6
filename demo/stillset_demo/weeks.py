"""The season's calendar in days from its first day: breaks, matches, and when each athlete does which kind of set.

Days are counted, not dated, so the same season can end on any date. Day 0 is the first day of week 0; matches are on
day 5 of a week, sometimes on day 2.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from stillset_demo.roster import Athlete

__all__ = [
    "AWAY",
    "BREAKS",
    "COMPETITION",
    "DAYS",
    "MATCHES",
    "TRAVEL_WEEKS",
    "Plan",
    "Slot",
    "Span",
    "days_since_match",
    "slots",
]

WEEKS = 40
DAYS = 7 * WEEKS


@dataclass(frozen=True, slots=True)
class Span:
    """Days from ``first`` to ``last``, both included."""

    first: int
    last: int

    def __contains__(self, day: int) -> bool:
        return self.first <= day <= self.last


class Plan(StrEnum):
    """What a set was meant to be."""

    MAXIMAL = "maximal"
    LIGHTER = "lighter"


@dataclass(frozen=True, slots=True)
class Slot:
    """A training slot of one athlete."""

    day: int
    plan: Plan


BREAKS = (Span(84, 88), Span(133, 143))
"""Days on which nobody trains."""
COMPETITION = (Span(49, 132), Span(147, DAYS - 1))
AWAY = {"MB-24": Span(254, DAYS - 1)}
"""Athletes who are elsewhere, so that no set of theirs arrives."""
TRAVEL_WEEKS = (15, 33)
"""Weeks with a training camp, where those who log with the gym app had only the hand-held instrument."""

_FIRST_MATCH_WEEK = 7


def _matches() -> frozenset[int]:
    weekend = {7 * week + 5 for week in range(_FIRST_MATCH_WEEK + 1, WEEKS, 2)}
    midweek = {7 * week + 2 for week in range(_FIRST_MATCH_WEEK + 2, WEEKS, 4)}
    return frozenset(day for day in weekend | midweek if not any(day in span for span in BREAKS))


MATCHES = _matches()


def days_since_match(day: int) -> int | None:
    """Days since the latest match before ``day``; None before the first."""
    earlier = [day - match for match in MATCHES if match < day]
    return min(earlier, default=None)


def slots(athlete: Athlete) -> Iterator[Slot]:
    """Slots of one athlete over the season: two maximal and one lighter a week, half of the squad a day later."""
    shift = athlete.number % 2
    for week in range(WEEKS):
        for weekday, plan in ((0, Plan.MAXIMAL), (1, Plan.LIGHTER), (3, Plan.MAXIMAL)):
            day = 7 * week + weekday + shift
            if not (day in MATCHES or any(day in span for span in BREAKS) or day in AWAY.get(athlete.ref, Span(0, -1))):
                yield Slot(day, plan)
