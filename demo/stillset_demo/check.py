"""Hold what the service answers against the truth of the season: coverage, stories found, false alarms, standings.

Everything here takes plain JSON as the API gives it, so the same check runs through HTTP and in process. The season's
simulator resembles the model of the trend engine: figures of this check say nothing about real athletes.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import Literal

import numpy as np

from stillset_demo.answers import Answers, AttentionJson, SetJson, SideJson, StandingJson, TrendJson
from stillset_demo.season import Truth
from stillset_demo.truth import COLUMNS, DRIFTING_SERIAL, Kind, Story

__all__ = [
    "Coverage",
    "FalseAlarm",
    "Finding",
    "Report",
    "WrongStanding",
    "check_season",
    "false_alarms",
    "interval_coverage",
    "stories_found",
    "wrong_standings",
]

SETTLED_DAYS = 42
"""Days after which an athlete's intervals are counted; before, the level is provisional."""


NAMED_BY: Mapping[Kind, frozenset[str]] = MappingProxyType(
    {
        Kind.SLOW_DECLINE: frozenset({"strength-falling", "pain-with-falling-strength"}),
        Kind.SUDDEN_DROP: frozenset({"strength-falling", "pain-with-falling-strength"}),
        Kind.NEVER_MAXIMAL: frozenset({"only-at-least"}),
        Kind.BAR_MOVED: frozenset({"set-up-drift"}),
        Kind.INSTRUMENT_DRIFT: frozenset({"instrument-shift"}),
    }
)
"""The rules of attention under which each kind of story can be found."""


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many 95 % intervals held the true level, and the mean error of the log estimate."""

    inside: int
    intervals: int
    mean_error: float

    @property
    def share(self) -> float:
        """Share of intervals that held the truth, 0 without intervals."""
        return self.inside / self.intervals if self.intervals else 0.0


@dataclass(frozen=True, slots=True)
class Finding:
    """Whether and when a planted story shows, and in whom.

    ``shown_on`` is the first date on which it shows in any of ``planted_in``; ``onset`` the date it began;
    ``attention`` the rules under which it asks for attention at the end of the season.
    """

    kind: Kind
    planted_in: tuple[str, ...]
    found_in: tuple[str, ...]
    onset: date
    shown_on: date | None
    attention: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Whether the story shows at all."""
        return bool(self.found_in)

    @property
    def days(self) -> int | None:
        """Days from the onset until it shows."""
        return None if self.shown_on is None else (self.shown_on - self.onset).days


@dataclass(frozen=True, slots=True)
class FalseAlarm:
    """A quiet athlete shown as falling from ``since`` on; ``true_percent`` is the change since the first weeks."""

    athlete: str
    direction: str
    side: str
    since: date
    true_percent: float


@dataclass(frozen=True, slots=True)
class WrongStanding:
    """A direction of a set that was judged otherwise than it deserves."""

    client_ref: str
    direction: str
    deserved: str
    given: str


@dataclass(frozen=True, slots=True)
class Report:
    """All comparisons of one season."""

    coverage: Coverage
    findings: tuple[Finding, ...]
    false_alarms: tuple[FalseAlarm, ...]
    wrong_standings: tuple[WrongStanding, ...]

    @property
    def missed(self) -> tuple[Finding, ...]:
        """Stories that do not show."""
        return tuple(finding for finding in self.findings if not finding.found)


def check_season(truth: Truth, answers: Answers) -> Report:
    """Compare everything that was read back with the truth."""
    return Report(
        interval_coverage(truth, answers.trends),
        stories_found(truth, answers),
        false_alarms(truth, answers.trends),
        wrong_standings(truth, answers.sets),
    )


def interval_coverage(truth: Truth, trends: Mapping[str, Sequence[TrendJson]]) -> Coverage:
    """Count the 95 % intervals that hold the true level, for athletes whose readings are true to their strength."""
    inside = 0
    errors: list[float] = []
    for athlete, bodies in trends.items():
        if np.any(truth.read_offset[athlete]):
            continue
        for body in bodies:
            day = truth.day(_date(body["as_of"]))
            for column, side in _sides(body):
                if day >= SETTLED_DAYS and side["level"] and side["low"] and side["high"]:
                    true_level = float(truth.levels[athlete][day, column])
                    inside += bool(math.log(side["low"]) <= true_level <= math.log(side["high"]))
                    errors.append(float(math.log(side["level"]) - true_level))
    return Coverage(inside, len(errors), float(np.mean(errors)) if errors else 0.0)


def stories_found(truth: Truth, answers: Answers) -> tuple[Finding, ...]:
    """Say of every planted story whether it shows in the answers, in whom, and since when."""
    return tuple(_finding(truth, story, answers) for story in truth.stories)


def false_alarms(truth: Truth, trends: Mapping[str, Sequence[TrendJson]]) -> tuple[FalseAlarm, ...]:
    """List each spell in which a side of a quiet athlete is shown as falling."""
    alarms = []
    for athlete in truth.quiet:
        before: set[int] = set()
        for body in trends.get(athlete, ()):
            falling = {column for column, side in _sides(body) if side["state"] == "falling"}
            when = _date(body["as_of"])
            for column in sorted(falling - before):
                level = truth.levels[athlete][:, column]
                change = 100 * math.expm1(level[truth.day(when)] - np.mean(level[:SETTLED_DAYS]))
                alarms.append(FalseAlarm(athlete, *COLUMNS[column], when, change))
            before = falling
    return tuple(alarms)


def wrong_standings(truth: Truth, sets: Sequence[SetJson]) -> tuple[WrongStanding, ...]:
    """List the directions judged otherwise than they deserve, and those that were not answered at all."""
    given = {
        (row["client_ref"], standing["direction"]): (
            standing["standing"],
            {reason["rule"] for reason in standing["reasons"]},
        )
        for row in sets
        for standing in row["standings"]
    }
    wrong = []
    for ref, directions in truth.deserved.items():
        for one in directions:
            standing, rules = given.get((ref, one.direction), ("missing", set()))
            if standing != one.standing or (one.rule is not None and one.rule not in rules):
                deserved = f"{one.standing}: {one.rule}" if one.rule else one.standing
                wrong.append(WrongStanding(ref, one.direction, deserved, ": ".join([standing, *sorted(rules)])))
    return tuple(wrong)


def _finding(truth: Truth, story: Story, answers: Answers) -> Finding:
    shown: dict[str, date] = {}
    for athlete in story.athletes:
        first = min(_shown(truth, story, athlete, answers), default=None)
        if first is not None:
            shown[athlete] = first
    return Finding(
        story.kind,
        story.athletes,
        tuple(shown),
        truth.date_of(story.onset),
        min(shown.values(), default=None),
        tuple(sorted({item["rule"] for item in answers.attention if _names(item, story)})),
    )


def _names(item: AttentionJson, story: Story) -> bool:
    """Whether an attention item is about the story: the right rule, and the right athlete or instrument."""
    if item["rule"] not in NAMED_BY[story.kind]:
        return False
    return DRIFTING_SERIAL in item["text"] if item["athlete"] is None else item["athlete"] in story.athletes


def _shown(truth: Truth, story: Story, athlete: str, answers: Answers) -> Iterator[date]:
    """Yield the dates on which a story shows in one athlete."""
    onset = truth.date_of(story.onset)
    bodies = [body for body in answers.trends.get(athlete, ()) if _date(body["as_of"]) > onset]
    match story.kind:
        case Kind.SLOW_DECLINE | Kind.SUDDEN_DROP:
            yield from (_date(body["as_of"]) for body in bodies if _falls(body, story))
        case Kind.NEVER_MAXIMAL:
            yield from (_date(body["as_of"]) for body in bodies[-1:] if _has_bounds_only(body))
        case Kind.BAR_MOVED:
            yield from _cautioned(athlete, onset, "set-up-drift", answers.sets)
        case Kind.INSTRUMENT_DRIFT:
            rows = [row for row in answers.sets if row["instrument"].get("serial") == DRIFTING_SERIAL]
            yield from _cautioned(athlete, onset, "instrument-check-overdue", rows)


def _falls(body: TrendJson, story: Story) -> bool:
    """Whether a side that really declines, by at least half of the story's size, is shown as falling."""
    return any(side["state"] == "falling" for column, side in _sides(body) if story.weights[column] >= 0.5)


def _has_bounds_only(body: TrendJson) -> bool:
    sides = [side for _, side in _sides(body)]
    return bool(sides) and all(
        side["state"] == "too_few" and side["level"] is None and side["at_least"] is not None for side in sides
    )


def _cautioned(athlete: str, onset: date, rule: str, rows: Sequence[SetJson]) -> Iterator[date]:
    for row in rows:
        when = _date(row["performed_at"])
        if row["athlete"] == athlete and when >= onset and any(rule in _cautions(one) for one in row["standings"]):
            yield when


def _cautions(standing: StandingJson) -> set[str]:
    return {caution["rule"] for caution in standing["cautions"]}


def _sides(body: TrendJson) -> Iterator[tuple[int, SideJson]]:
    """Yield column and side of the series with most readings."""
    series = max(body["series"], key=lambda one: one["readings"] + one["at_least"], default=None)
    if series is None:
        return
    directions: tuple[Literal["squeeze", "spread"], ...] = ("squeeze", "spread")
    sides: tuple[Literal["left", "right"], ...] = ("left", "right")
    for column, (direction, side) in enumerate((direction, side) for direction in directions for side in sides):
        yield column, series[direction][side]


def _date(text: str) -> date:
    return datetime.fromisoformat(text).date()
