"""Do intervals cover the truth as often as they say, and are false calls as rare as the protocol wants?

Seeded simulated athletes, from a simulator that resembles the model. The limits leave room for three
standard errors of so few seasons.
"""

from datetime import timedelta

import numpy as np
import pytest
from squad_simulator import START, Habits, Season, season_of

from stillset_core.protocol import Protocol
from stillset_core.trend import SeriesTrend, trend_of

SEASONS = 120


def trends_of(habits: Habits, seasons: int = SEASONS) -> list[tuple[Season, SeriesTrend]]:
    rng = np.random.default_rng(4)
    made = [season_of(rng, habits) for _ in range(seasons)]
    return [(season, trend_of(season.readings, Protocol(), season.readings[-1].performed_at)) for season in made]


@pytest.fixture(scope="module")
def usual() -> list[tuple[Season, SeriesTrend]]:
    return trends_of(Habits())


def test_the_95_percent_interval_covers_the_level_about_that_often(usual: list[tuple[Season, SeriesTrend]]) -> None:
    covered = []
    for season, trend in usual:
        sd = np.sqrt(np.diag(trend.covariance))
        covered.append(np.abs(trend.mean - season.truth[-1]) < 1.96 * sd)
    assert 0.90 < np.mean(covered) < 0.98


def test_the_level_has_hardly_any_bias(usual: list[tuple[Season, SeriesTrend]]) -> None:
    errors = np.array([trend.mean - season.truth[-1] for season, trend in usual])
    assert abs(errors.mean()) < 0.015
    assert errors.std() < 0.035


def test_false_calls_are_about_as_rare_as_the_protocol_wants(usual: list[tuple[Season, SeriesTrend]]) -> None:
    assert 0.7 < np.mean([len(trend.calls) for _, trend in usual]) < 1.3


def test_a_decline_of_10_percent_is_mostly_called_within_six_weeks() -> None:
    begins = 140.0
    habits = Habits(decline=np.log(0.9) * np.array([1.0, 1.0, 0.0, 0.0]), decline_begins=begins)
    delays = []
    for _, trend in trends_of(habits, seasons=60):
        days = [(call.at - START) / timedelta(days=1) - begins for call in trend.calls]
        delays.append(min((delay for delay in days if 0 <= delay <= 42), default=np.inf))
    assert np.mean(np.isfinite(delays)) > 0.7
