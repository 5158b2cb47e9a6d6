"""Invented athletes for the benchmarks: their true levels, and the readings that judging would make of their sets.

The athletes resemble the model: log levels that drift, a common effect of each session, noise that the
two sides share, outliers, and a noise scale that differs between athletes. A simulated figure shows how
the engine behaves if athletes are so; it says nothing about real ones.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey

SERIES = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
START = datetime(2030, 1, 7, 16, tzinfo=UTC)
LIGHTEST, HEAVIEST = 0.6, 0.9
"""Planned effort of the lighter sets, as a share of the level."""
SIDES = np.array([[1.0, 0.5], [0.5, 1.0]])
"""Correlation of left and right, of the noise and of the outliers."""
_, _SPREAD, _AXES = np.linalg.svd(SIDES)
SIDE_FACTOR = np.sqrt(_SPREAD)[:, np.newaxis] * _AXES
"""Makes two independent numbers correlated so; made once, because a season draws some three hundred pairs."""


def unmoved(days: NDArray[np.float64]) -> NDArray[np.float64]:
    """No passing move of the level."""
    return np.zeros(days.size)


@dataclass(frozen=True)
class Habits:
    """How an athlete trains and how the readings scatter.

    ``counting_per_week`` sets count and half as many are lighter; ``unlabelled`` is the share of maximal
    sets whose effort nobody wrote down, so that more maximal sets are done than count. ``passing`` gives, for days
    of the season, a move of all four log levels that comes and goes.
    """

    weeks: int = 40
    counting_per_week: float = 2.0
    lighter_share: float = 0.5
    unlabelled: float = 0.2
    drift_per_sqrt_day: float = 0.006
    noise_sd: float = 0.052
    session_sd: float = 0.02
    outlier_share: float = 0.05
    outlier_sd: float = 0.2
    noise_scale_spread: float = 0.25
    decline: NDArray[np.float64] = field(default_factory=lambda: np.zeros(4))
    decline_begins: float = np.inf
    decline_days: float = 21.0
    passing: Callable[[NDArray[np.float64]], NDArray[np.float64]] = unmoved


@dataclass(frozen=True)
class Season:
    """Readings in the engine's order, the true log levels (R, 4) at each of them, and the athlete's noise scale."""

    readings: tuple[Reading, ...]
    truth: NDArray[np.float64]
    noise_scale: float


def season_of(rng: np.random.Generator, habits: Habits) -> Season:
    """Simulate one season of one athlete with the random numbers of `rng`."""
    days = _training_days(rng, habits)
    scale = np.exp(rng.normal(0, habits.noise_scale_spread))
    truth = levels_of(rng, habits, np.array([day for day, _ in days]))
    readings: list[Reading] = []
    levels = []
    for i, (day, lighter) in enumerate(days):
        unknown = lighter or rng.random() < habits.unlabelled
        values = set_values(rng, habits, truth[i], scale)
        values *= rng.uniform(LIGHTEST, HEAVIEST) if lighter else 1.0
        for direction, (left, right) in zip(Direction, values.reshape(2, 2).tolist(), strict=True):
            value = Bound(left, right) if unknown else Counted(left, right, left, right, 3, 3, 3)
            at = START + timedelta(days=day)
            readings.append(Reading(f"set-{i:04d}", at, i, direction, value, SERIES))
            levels.append(truth[i])
    return Season(tuple(readings), np.array(levels), float(scale))


def _training_days(rng: np.random.Generator, habits: Habits) -> list[tuple[float, bool]]:
    """Days of all sets, and whether a set is lighter; one set a session."""
    maximal = round(habits.weeks * habits.counting_per_week / (1 - habits.unlabelled))
    lighter = round(habits.weeks * habits.counting_per_week * habits.lighter_share)
    slots = np.sort(rng.choice(habits.weeks * 14, size=maximal + lighter, replace=False)) / 2
    is_lighter = rng.permutation(maximal + lighter) < lighter
    return [(float(slot - slots[0]), bool(light)) for slot, light in zip(slots, is_lighter, strict=True)]


def levels_of(rng: np.random.Generator, habits: Habits, days: NDArray[np.float64]) -> NDArray[np.float64]:
    """True log levels (days, 4): a correlated random walk, with the decline and what passes on top."""
    steps = np.sqrt(np.diff(days, prepend=0.0))[:, np.newaxis] * habits.drift_per_sqrt_day
    shared = rng.normal(size=(days.size, 1)) * np.sqrt(0.5)
    own = rng.normal(size=(days.size, 4)) * np.sqrt(0.5)
    begin = np.log(300.0) + rng.normal(0, 0.2) + rng.normal(0, 0.08, size=4)
    ramp = np.clip((days - habits.decline_begins) / habits.decline_days, 0, 1)[:, np.newaxis]
    passing = habits.passing(days)[:, np.newaxis]
    return np.asarray(begin + np.cumsum(steps * (shared + own), axis=0) + ramp * habits.decline + passing)


def set_values(
    rng: np.random.Generator, habits: Habits, level: NDArray[np.float64], scale: float
) -> NDArray[np.float64]:
    """Forces of one maximal set on the four sides."""
    logs = level + rng.normal(0, scale * habits.session_sd)
    for first in (0, 2):
        logs[first : first + 2] += scale * habits.noise_sd * _pair(rng)
        if rng.random() < habits.outlier_share:
            logs[first : first + 2] += habits.outlier_sd * _pair(rng)
    return np.exp(logs)


def _pair(rng: np.random.Generator) -> NDArray[np.float64]:
    """Standard normal numbers of left and right, correlated as the sides are."""
    return np.asarray(rng.standard_normal(2) @ SIDE_FACTOR)
