"""Measure the trend engine on simulated athletes: ``python tests/benchmarks/bench_trend.py``.

Prints, for the engine as it stands, the time of its parts, bias, error and coverage of the level, false
calls, how the level lags behind a decline, and the days from the start of a decline to its call. All
athletes are simulated and resemble the model.
"""

import sys
import time
import timeit
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from typing import NamedTuple

import numpy as np
from squad_simulator import SERIES, START, Habits, season_of

from stillset_core.protocol import Protocol
from stillset_core.trend import trend_of, warm_up
from stillset_core.trend.decline_bank import bank_of
from stillset_core.trend.filtering import NO_CLONES, filter_readings
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import model_at, parameters_for
from stillset_core.trend.rows import rows_of

SEASONS = 400
ONSET = 140.0
LEVEL_HABITS = {
    "as the model thinks": Habits(),
    "drift 0.004": Habits(drift_per_sqrt_day=0.004),
    "noise 1.4 times": Habits(noise_sd=0.073, noise_scale_spread=0.0),
    "one maximal set a week": Habits(counting_per_week=1.0),
}
DECLINES = {
    "10 % both sides": (0.10, 0.10),
    "15 % both sides": (0.15, 0.15),
    "10 % one side": (0.10, 0.0),
    "5 % both sides": (0.05, 0.05),
}


class Levels(NamedTuple):
    """Bias and root mean square error of the log level, share of intervals that cover, false calls per season."""

    bias: float
    error: float
    coverage: float
    calls: float


def levels_of(habits: Habits) -> Levels:
    """Level at the last reading of a season against the truth."""
    rng = np.random.default_rng(17)
    errors, covered, calls = [], [], []
    for _ in range(SEASONS):
        season = season_of(rng, habits)
        trend = trend_of(season.readings, Protocol(), season.readings[-1].performed_at)
        error = trend.mean - season.truth[-1]
        errors.append(error)
        covered.append(np.abs(error) < 1.96 * np.sqrt(np.diag(trend.covariance)))
        calls.append(len(trend.calls))
    return Levels(
        float(np.mean(errors)),
        float(np.sqrt(np.mean(np.square(errors)))),
        float(np.mean(covered)),
        float(np.mean(calls)),
    )


def lag_after(weeks: int) -> tuple[float, float]:
    """Bias of the level and coverage of its interval some weeks after a decline of 10 % of both sides began."""
    rng = np.random.default_rng(20)
    day = ONSET + 7 * weeks
    habits = replace(Habits(), decline=np.log1p(-np.array([0.1, 0.1, 0.0, 0.0])), decline_begins=ONSET)
    errors, covered = [], []
    for _ in range(SEASONS):
        season = season_of(rng, habits)
        until = sum(reading.performed_at <= START + timedelta(days=day) for reading in season.readings)
        trend = trend_of(season.readings[:until], Protocol(), season.readings[until - 1].performed_at)
        error = (trend.mean - season.truth[until - 1])[:2]
        errors.append(error)
        covered.append(np.abs(error) < 1.96 * np.sqrt(np.diag(trend.covariance)[:2]))
    return float(np.mean(errors)), float(np.mean(covered))


def median_delay(decline: tuple[float, float]) -> float:
    """Median days from the start of a decline of squeeze to the first call after it; infinite if most have none."""
    rng = np.random.default_rng(18)
    depth = np.log1p(-np.array([*decline, 0.0, 0.0]))
    habits = replace(Habits(), decline=depth, decline_begins=ONSET)
    delays = []
    for _ in range(SEASONS):
        season = season_of(rng, habits)
        trend = trend_of(season.readings, Protocol(), season.readings[-1].performed_at)
        days = [(call.at - START) / timedelta(days=1) - ONSET for call in trend.calls]
        delays.append(min((day for day in days if day >= 0), default=np.inf))
    return float(np.median(delays))


def milliseconds(work: Callable[[], object], repeats: int = 50) -> float:
    """Shortest time of one piece of work, in ms."""
    return 1000 * min(timeit.repeat(work, number=1, repeat=repeats))


def timings() -> Iterator[str]:
    """Times of one athlete's season of 200 readings, part by part."""
    readings = season_of(np.random.default_rng(19), Habits()).readings[:200]
    parameters = parameters_for(Protocol(), SERIES.quantity)
    rows = rows_of(readings, parameters)
    model = model_at(parameters, 1.0)
    end = readings[-1].performed_at
    parts: dict[str, Callable[[], object]] = {
        "nine passes for the noise scale": lambda: noise_scale_of(rows, parameters),
        "the final pass": lambda: filter_readings(rows, parameters, model, NO_CLONES, rows.day[-1]),
        "the bank of declines": lambda: bank_of(rows, parameters, model),
        "everything": lambda: trend_of(readings, Protocol(), end),
    }
    for name, work in parts.items():
        yield f"200 readings, {name}: {milliseconds(work):.2f} ms\n"


def main() -> None:
    """Print every figure."""
    say = sys.stdout.write
    begun = time.perf_counter()
    warm_up()
    say(f"warming up: {time.perf_counter() - begun:.1f} s (compiling, or loading what is compiled)\n")
    for line in timings():
        say(line)
    for name, habits in LEVEL_HABITS.items():
        bias, error, coverage, calls = levels_of(habits)
        say(f"{name}: bias {bias:+.1%}, error {error:.1%}, coverage {coverage:.1%}, ")
        say(f"false calls {calls:.2f} a season\n")
    for weeks in (2, 4, 6, 8, 12):
        bias, coverage = lag_after(weeks)
        say(f"{weeks} weeks after a decline of 10 % began: bias {bias:+.1%}, coverage {coverage:.1%}\n")
    for name, decline in DECLINES.items():
        say(f"{name}: called after {median_delay(decline):.0f} days (median)\n")


if __name__ == "__main__":
    main()
