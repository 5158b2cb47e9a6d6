"""Calibrate the thresholds of a call and write them: ``python tests/benchmarks/calibrate_calls.py``.

For each number of counting sets per week, seasons of athletes without a decline are simulated, and the
threshold is sought at which a season has so many false calls. The number of upward crossings does not
fall steadily as the threshold rises (a statistic that never gets below it crosses it once), so the
search comes down from the top and stops where the wanted number is first reached.
"""

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from squad_simulator import SERIES, Habits, Season, season_of

from stillset_core.protocol import Protocol
from stillset_core.trend import call_thresholds
from stillset_core.trend.calling import crossings
from stillset_core.trend.decline_bank import bank_of
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import model_at, parameters_for
from stillset_core.trend.rows import rows_of

SETS_PER_WEEK = (0.5, 1.0, 2.0, 3.0, 4.0)
FALSE_CALLS = (0.1, 0.25, 0.5, 1.0, 2.0)
SEASONS = 3000
SEED = 20300107
GRID = np.arange(12.0, -0.001, -0.05)
"""Thresholds that are tried, from the top."""

Track = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Day and statistic at each instant of a season."""


def track_of(season: Season) -> Track:
    """Statistic of the bank at each instant of a season."""
    parameters = parameters_for(Protocol(), SERIES.quantity)
    rows = rows_of(season.readings, parameters)
    bank = bank_of(rows, parameters, model_at(parameters, noise_scale_of(rows, parameters)))
    last = np.append(np.diff(rows.day) > 0, True)
    return rows.day[last], bank.statistic[last]


def calls_per_season(tracks: list[Track], threshold: float) -> float:
    """Mean number of calls in a season at a constant threshold."""
    calls = [len(crossings(day, statistic, np.full(day.size, threshold))[0]) for day, statistic in tracks]
    return float(np.mean(calls))


def threshold_for(rates: NDArray[np.float64], wanted: float) -> float:
    """Threshold at which the rates (along the grid, from the top) first reach the wanted number."""
    reached = np.flatnonzero(rates >= wanted)
    if reached.size == 0:
        return float(GRID[np.argmax(rates)])
    i = int(reached[0])
    if i == 0:
        return float(GRID[0])
    share = (wanted - rates[i - 1]) / (rates[i] - rates[i - 1])
    return float(GRID[i - 1] + share * (GRID[i] - GRID[i - 1]))


def main() -> None:
    """Simulate, calibrate, write the table."""
    rows = []
    for number, sets_per_week in enumerate(SETS_PER_WEEK):
        rng = np.random.default_rng([SEED, number])
        habits = Habits(counting_per_week=sets_per_week)
        tracks = [track_of(season_of(rng, habits)) for _ in range(SEASONS)]
        rates = np.array([calls_per_season(tracks, threshold) for threshold in GRID])
        rows.append(tuple(round(threshold_for(rates, wanted), 2) for wanted in FALSE_CALLS))
        sys.stdout.write(f"{sets_per_week} {rows[-1]}\n")
        sys.stdout.flush()
    Path(call_thresholds.__file__).write_text(module_text(rows), encoding="utf-8")


def module_text(rows: list[tuple[float, ...]]) -> str:
    """Text of the module that holds the table."""
    table = "\n".join(f"    {row}," for row in rows)
    return f'''"""The thresholds of a call, by counting sets per week and by false calls per athlete and 40 weeks.

Written by ``python tests/benchmarks/calibrate_calls.py`` from {SEASONS} simulated seasons without a decline
for each number of sets per week.
"""

SETS_PER_WEEK = {SETS_PER_WEEK}
FALSE_CALLS = {FALSE_CALLS}
THRESHOLDS = (
{table}
)
"""One row for each number of sets per week, one column for each number of false calls."""
'''


if __name__ == "__main__":
    main()
