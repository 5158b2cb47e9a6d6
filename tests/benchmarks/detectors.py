"""Every detector of the detection benchmark on one simulated season, and the seasons they are tried on."""

from dataclasses import replace
from functools import cache
from typing import NamedTuple

import numpy as np
from charts import TEST_EVERY, TEXTBOOK_EWMA, Chart, Track, chart_track, track_of_tests
from known_decline import known_track, true_parameters
from numpy.typing import NDArray
from squad_simulator import SERIES, START, Habits, Season, levels_of, season_of, set_values

from stillset_core.protocol import Protocol
from stillset_core.trend.calling import monitor
from stillset_core.trend.decline_bank import bank_of
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import Parameters, model_at, parameters_for
from stillset_core.trend.rows import days_between, rows_of

DECLINES = {
    "10 % both sides": (0.10, 0.10),
    "10 % one side": (0.10, 0.0),
    "15 % both sides": (0.15, 0.15),
    "5 % both sides": (0.05, 0.05),
}
"""Depth of the decline of squeeze, left and right."""
FIRST_ONSET, LAST_ONSET = 112.0, 168.0
"""An onset falls on any day between: on any day of two months between test days and of eight weeks of onsets."""


class Setting(NamedTuple):
    """Typical error between days of one side, as a share; counting sets a week."""

    error: float
    weekly: float

    @property
    def habits(self) -> Habits:
        """Habits of its athletes; noise and session effect grow together."""
        usual = Habits(counting_per_week=self.weekly)
        times = self.error / float(np.hypot(usual.noise_sd, usual.session_sd))
        return replace(usual, noise_sd=times * usual.noise_sd, session_sd=times * usual.session_sd)


class Charts(NamedTuple):
    """The charts' settings, and what a test of the monthly test day is compared with."""

    ewma: Chart
    cusum: Chart
    reference: str


class EngineRun(NamedTuple):
    """The engine's statistic, and the days of its calls at the thresholds that it is shipped with."""

    track: Track
    calls: NDArray[np.float64]


def log_decline(name: str) -> NDArray[np.float64]:
    """Decline of the four log levels."""
    return np.log1p(-np.array([*DECLINES[name], 0.0, 0.0]))


def declining(rng: np.random.Generator, habits: Habits, name: str) -> Habits:
    """Let a decline begin on some day."""
    return replace(habits, decline=log_decline(name), decline_begins=rng.uniform(FIRST_ONSET, LAST_ONSET))


@cache
def default_parameters() -> Parameters:
    """Parameters of a club that changed nothing."""
    return parameters_for(Protocol(), SERIES.quantity)


@cache
def parameters_of(setting: Setting) -> Parameters:
    """Parameters of a club that knows its typical error."""
    return true_parameters(setting.habits.noise_sd, setting.habits.session_sd)


def engine_run(season: Season) -> EngineRun:
    """Run the engine with its default settings; it learns the athlete's noise scale from the whole season."""
    parameters = default_parameters()
    rows = rows_of(season.readings, parameters)
    bank = bank_of(rows, parameters, model_at(parameters, noise_scale_of(rows, parameters)))
    last = np.append(np.diff(rows.day) > 0, True)
    calls = monitor(season.readings, bank, season.readings[-1].performed_at, 1.0).calls
    # The simulator's days count from START, where every season has its first reading.
    return EngineRun((rows.day[last], bank.statistic[last]), np.array([days_between(START, call.at) for call in calls]))


def told_track(season: Season, setting: Setting) -> Track:
    """Statistic of the engine when it is told the typical error and the athlete's noise scale."""
    parameters = parameters_of(setting)
    rows = rows_of(season.readings, parameters)
    bank = bank_of(rows, parameters, model_at(parameters, season.noise_scale))
    last = np.append(np.diff(rows.day) > 0, True)
    return rows.day[last], bank.statistic[last]


def chart_tracks(season: Season, setting: Setting, charts: Charts) -> dict[str, Track]:
    """Statistics of the charts."""
    return {
        "EWMA": chart_track(season, charts.ewma, setting.error),
        "EWMA, textbook": chart_track(season, TEXTBOOK_EWMA, setting.error),
        "CUSUM": chart_track(season, charts.cusum, setting.error),
    }


def optimal_track(season: Season, setting: Setting, name: str) -> Track:
    """Statistic of the detector that knows all but the onset."""
    return known_track(season, log_decline(name), parameters_of(setting))


def tests_of(rng: np.random.Generator, habits: Habits) -> NDArray[np.float64]:
    """Log forces of one athlete on monthly test days: (T, 4)."""
    days = np.arange(0.0, 7.0 * habits.weeks, TEST_EVERY)
    scale = float(np.exp(rng.normal(0, habits.noise_scale_spread)))
    return np.log([set_values(rng, habits, level, scale) for level in levels_of(rng, habits, days)])


def tracks_of_test_days(logs: NDArray[np.float64], setting: Setting, charts: Charts) -> dict[str, Track]:
    """Statistic of the test day, in minimal detectable changes: as published from the first test, and as chosen."""
    return {
        "test, MDC": track_of_tests(logs, "first", setting.error),
        "test, matched": track_of_tests(logs, charts.reference, setting.error),
    }


def seasons(seed: list[int], habits: Habits, count: int, decline: str | None) -> list[tuple[Season, float]]:
    """Simulate seasons with their onsets (infinite without a decline)."""
    rng = np.random.default_rng(seed)
    drawn = []
    for _ in range(count):
        one = habits if decline is None else declining(rng, habits, decline)
        drawn.append((season_of(rng, one), one.decline_begins))
    return drawn
