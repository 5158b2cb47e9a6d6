"""What each athlete does in each training slot, and what every set deserves."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta, timezone

import numpy as np

from stillset_demo.clients import DoneSet
from stillset_demo.forces import Hold, PlannedHold, holds, session_effect
from stillset_demo.roster import ATHLETES, KNEE_ANGLE_DEG, POSITION, Athlete, Habit
from stillset_demo.slips import SET_ASIDE_BY, SLIP_SHIFT, SLIPS, Deserved, Slip, deserved_by
from stillset_demo.truth import DRIFTING_SERIAL, INJURY_ENDS, STORIES, Kind, Latent
from stillset_demo.weeks import TRAVEL_WEEKS, Plan, Slot, slots

__all__ = ["JudgedByTruth", "sets_of"]

ATTENDANCE = 0.93
CLUB_ZONE = timezone(timedelta(hours=2))
REST_S = 30.0
CHECK_EVERY_DAYS = 56
LAST_CHECK_OF_DRIFTING = 158
TRACED = ("MB-06", frozenset({4, 10, 16, 22, 28, 34}))
"""The athlete and the weeks whose first maximal set was kept as a whole curve."""


@dataclass(frozen=True, slots=True)
class JudgedByTruth:
    """A set that was done and what each of its directions deserves."""

    done: DoneSet
    deserved: tuple[Deserved, ...]


def sets_of(athlete: Athlete, latent: Latent, first_day: date, rng: np.random.Generator) -> Iterator[JudgedByTruth]:
    """Yield the athlete's sets of the season in order of time."""
    day_of = _DayOf(athlete, latent, first_day, rng)
    for slot in slots(athlete):
        plan = _plan_in_story(athlete, slot, rng)
        if plan is not None and rng.random() < ATTENDANCE:
            yield from day_of.session(Slot(slot.day, plan))


def _plan_in_story(athlete: Athlete, slot: Slot, rng: np.random.Generator) -> Plan | None:
    """Return what the slot becomes for those with a story: below maximal always, or rest and a careful return."""
    for story in STORIES:
        if athlete.ref not in story.athletes:
            continue
        if story.kind is Kind.NEVER_MAXIMAL:
            return Plan.LIGHTER
        if story.kind is Kind.SUDDEN_DROP and slot.day > story.onset:
            return _plan_after_injury(slot, story.onset, rng)
    return slot.plan


def _plan_after_injury(slot: Slot, onset: int, rng: np.random.Generator) -> Plan | None:
    if slot.day <= onset + 2:
        return Plan.MAXIMAL
    if slot.day <= onset + 9:
        return None
    careful = slot.day <= INJURY_ENDS or (slot.day <= INJURY_ENDS + 28 and rng.random() < 0.5)
    return Plan.LIGHTER if careful else slot.plan


@dataclass(frozen=True, slots=True)
class _DayOf:
    """The training days of one athlete."""

    athlete: Athlete
    latent: Latent
    first_day: date
    rng: np.random.Generator

    def session(self, slot: Slot) -> Iterator[JudgedByTruth]:
        rng = self.rng
        shift = session_effect(self.latent, slot.day, rng)
        begins = self._begins(slot.day)
        maximal = slot.plan is Plan.MAXIMAL
        slip = self._slip() if maximal else Slip.NONE
        if slip is Slip.AFTER_WORK:
            for minutes in (24, 12):
                yield self._work(slot.day, shift, begins - timedelta(minutes=minutes))
        if maximal and self.athlete.habit is Habit.FRAME_LOGGER and rng.random() < 0.5:
            yield self._warm_up(slot.day, shift, begins - timedelta(minutes=6))
        yield self._main_set(slot, shift, begins, slip)

    def _begins(self, day: int) -> datetime:
        seconds = int(self.rng.integers(0, 5400))
        evening = datetime.combine(self.first_day + timedelta(days=day), time(17, 30), CLUB_ZONE)
        return evening + timedelta(seconds=seconds)

    def _slip(self) -> Slip:
        choices = SLIPS[self.athlete.habit]
        drawn = self.rng.random()
        for slip, share in choices.items():
            drawn -= share
            if drawn < 0:
                return slip
        return Slip.NONE

    def _main_set(self, slot: Slot, shift: float, begins: datetime, slip: Slip) -> JudgedByTruth:
        traced = self.athlete.ref == TRACED[0] and slot.plan is Plan.MAXIMAL and slot.day in _traced_days()
        hand_held = self.athlete.habit is Habit.GYM_APP and slot.day // 7 in TRAVEL_WEEKS
        slip = Slip.NONE if traced or hand_held else slip
        planned = _traced_holds() if traced else self._planned(slot.plan, slip)
        done = holds(self.latent, slot.day, shift + SLIP_SHIFT.get(slip, 0.0), planned, self.rng)
        record = self._record(slot.day, begins, done)
        record = replace(
            self._slipped(record, slip), traced=traced, hand_held=hand_held, verified=slip is not Slip.UNVERIFIED
        )
        whole = "other-instrument" if hand_held else SET_ASIDE_BY.get(slip)
        return JudgedByTruth(record, deserved_by(done, whole))

    def _planned(self, plan: Plan, slip: Slip) -> tuple[PlannedHold, ...]:
        rng = self.rng
        maximal = plan is Plan.MAXIMAL
        pairs = int(rng.choice([2, 3, 3, 3, 4])) if maximal else int(rng.choice([2, 3]))
        percent = 100.0 if maximal else float(rng.choice([70, 75, 80, 85, 90]))
        rest_s = 4.0 if slip is Slip.HURRIED else REST_S
        short_direction = str(rng.choice(["squeeze", "spread"])) if slip is Slip.SHORT_DIRECTION else None
        short_at = int(rng.integers(2 * pairs)) if slip is Slip.SHORT_HOLD else None
        planned, started_s = [], 0.0
        for index in range(2 * pairs):
            direction = "spread" if index % 2 else "squeeze"
            short = direction == short_direction or index == short_at
            hold_s = round(float(rng.uniform(1.6, 2.6) if short else rng.uniform(4.6, 5.4)), 1)
            effort = 1.0 if maximal else float(np.clip(percent / 100 + rng.normal(0, 0.04), 0.3, 1.0))
            intended = None if slip is Slip.UNPLANNED else percent
            planned.append(PlannedHold(direction, effort, intended, hold_s, round(started_s, 1)))
            started_s += hold_s + (rest_s if index % 2 else 5.0)
        return tuple(planned)

    def _record(self, day: int, begins: datetime, done: tuple[Hold, ...]) -> DoneSet:
        rng = self.rng
        expected_pain = float(self.latent.pain[day])
        niggle = float(rng.choice([1.0, 2.0])) if expected_pain == 0 and rng.random() < 0.03 else 0.0
        pain = float(np.clip(expected_pain + niggle + (rng.normal(0, 0.6) if expected_pain else 0.0), 0, 10))
        moved = (
            float(rng.choice([0.3, 0.35, 0.4, 0.45])) if self._bar_has_moved(day) else float(rng.choice([-0.1, 0, 0.1]))
        )
        return DoneSet(
            athlete=self.athlete,
            performed_at=begins,
            done=done,
            position=POSITION,
            bar_height=round(self.athlete.bar_height + moved, 2),
            knee_angle_deg=float(KNEE_ANGLE_DEG + rng.integers(-2, 3)),
            checked_on=self._checked_on(day),
            pain=pain,
            site=self.latent.site if expected_pain else "left groin",
        )

    def _slipped(self, record: DoneSet, slip: Slip) -> DoneSet:
        match slip:
            case Slip.OTHER_POSITION:
                return replace(record, position="supine-straight-leg")
            case Slip.BAR_OFF:
                return replace(record, bar_height=self.athlete.bar_height + float(self.rng.choice([-2, -1, 1, 2])))
            case Slip.KNEE_OFF:
                return replace(record, knee_angle_deg=float(KNEE_ANGLE_DEG + self.rng.integers(8, 16)))
            case _:
                return record

    def _warm_up(self, day: int, shift: float, begins: datetime) -> JudgedByTruth:
        planned = tuple(
            PlannedHold(direction, percent / 100, percent, 4.0, 20.0 * index)
            for index, (direction, percent) in enumerate(
                [("squeeze", 50.0), ("spread", 50.0), ("squeeze", 75.0), ("spread", 75.0)]
            )
        )
        done = holds(self.latent, day, shift, planned, self.rng)
        return JudgedByTruth(replace(self._record(day, begins, done), warm_up=True), deserved_by(done, "warm-up"))

    def _work(self, day: int, shift: float, begins: datetime) -> JudgedByTruth:
        planned = tuple(PlannedHold("squeeze", 0.85, 85.0, 5.0, 12.0 * index) for index in range(10))
        done = holds(self.latent, day, shift, planned, self.rng)
        return JudgedByTruth(self._record(day, begins, done), deserved_by(done, None))

    def _bar_has_moved(self, day: int) -> bool:
        return any(
            story.kind is Kind.BAR_MOVED and self.athlete.ref in story.athletes and day >= story.onset
            for story in STORIES
        )

    def _checked_on(self, day: int) -> date:
        latest = day - (day + 10) % CHECK_EVERY_DAYS
        if self.athlete.serial == DRIFTING_SERIAL:
            latest = min(latest, LAST_CHECK_OF_DRIFTING)
        return self.first_day + timedelta(days=latest)


def _traced_days() -> frozenset[int]:
    number = next(athlete.number for athlete in ATHLETES if athlete.ref == TRACED[0])
    return frozenset(7 * week + number % 2 for week in TRACED[1])


def _traced_holds() -> tuple[PlannedHold, ...]:
    """Two pairs, close together, so that the curve stays short; squeezes begin more than 20 s after the last ended."""
    starts = (("squeeze", 2.0), ("spread", 15.0), ("squeeze", 29.0), ("spread", 42.0))
    return tuple(PlannedHold(direction, 1.0, 100.0, 5.0, started_s) for direction, started_s in starts)
