"""Measure the trend engine on simulated athletes: ``python tests/benchmarks/bench_trend.py``.

Prints bias, error and coverage of the level, false calls, and the days from the start of a decline to
its call, for the engine as it stands. All athletes are simulated and resemble the model.
"""

import sys
import time
from dataclasses import replace
from datetime import timedelta
from typing import NamedTuple

import numpy as np
from squad_simulator import START, Habits, season_of

from stillset_core.protocol import Protocol
from stillset_core.trend import trend_of, warm_up

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


def main() -> None:
    """Print every figure."""
    warm_up()
    say = sys.stdout.write
    for name, habits in LEVEL_HABITS.items():
        begun = time.perf_counter()
        bias, error, coverage, calls = levels_of(habits)
        each = 1000 * (time.perf_counter() - begun) / SEASONS
        say(f"{name}: bias {bias:+.1%}, error {error:.1%}, coverage {coverage:.1%}, ")
        say(f"false calls {calls:.2f} a season; {each:.0f} ms a season with its simulation\n")
    for name, decline in DECLINES.items():
        say(f"{name}: called after {median_delay(decline):.0f} days (median)\n")


if __name__ == "__main__":
    main()
