"""How often the 95 % interval of a level holds the truth, when noise is as assumed, twice or half as large."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from call_scoring import Rate
from detectors import default_parameters
from numpy.typing import NDArray
from squad_simulator import START, Habits, Season, season_of

from stillset_core.trend.filtering import NO_CLONES, filter_readings
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import model_at
from stillset_core.trend.rows import days_between, rows_of

NOISES = {"as assumed": 1.0, "twice": 2.0, "half": 0.5}
ATHLETES = 8
SQUAD_READINGS = 200
"""Counting readings that a squad has before its levels are looked at."""
LOOK_EVERY = 56.0
WIDTH = 1.959964


class Coverage(NamedTuple):
    """Share of intervals that hold the truth when the squad has its 200 readings, and from then to the season's end."""

    begins: Rate
    later: Rate


def coverage_at(times: float, squads: int, seed: int) -> Coverage:
    """Coverage over simulated squads whose noise is so many times what the engine assumes."""
    rng = np.random.default_rng([seed, round(100 * times)])
    usual = Habits()
    habits = replace(usual, noise_sd=times * usual.noise_sd, session_sd=times * usual.session_sd)
    begins, later = [], []
    for _ in range(squads):
        squad = [season_of(rng, habits) for _ in range(ATHLETES)]
        counted = np.sort(np.concatenate([_counting_days(season) for season in squad]))
        first = counted[SQUAD_READINGS - 1]
        looks = np.arange(first, 7.0 * habits.weeks, LOOK_EVERY)
        held = np.array([[_held(season, day) for season in squad] for day in looks])
        begins.append(float(held[0].mean()))
        later.append(float(held.mean()))
    return Coverage(_over_squads(begins), _over_squads(later))


def _counting_days(season: Season) -> NDArray[np.float64]:
    """Days of the counting readings."""
    return np.array([days_between(START, reading.performed_at) for reading in season.readings if reading.counts])


def _held(season: Season, day: float) -> NDArray[np.bool_]:
    """Whether the intervals of the four levels hold the truth at the last reading up to a day."""
    until = sum(days_between(START, reading.performed_at) <= day for reading in season.readings)
    parameters = default_parameters()
    rows = rows_of(season.readings[:until], parameters)
    run = filter_readings(
        rows, parameters, model_at(parameters, noise_scale_of(rows, parameters)), NO_CLONES, rows.day[-1]
    )
    sd = np.sqrt(np.diag(run.covariance[-1]))
    return np.abs(run.mean[-1] - season.truth[until - 1]) <= WIDTH * sd


def _over_squads(shares: list[float]) -> Rate:
    """Mean over squads; athletes of one squad look at different levels, squads are what repeats."""
    return Rate(float(np.mean(shares)), float(np.std(shares) / np.sqrt(len(shares))))
