import numpy as np
import pytest
from calibrate_calls import FALSE_CALLS, GRID, SETS_PER_WEEK, calls_per_season, module_text, threshold_for, track_of
from squad_simulator import Habits, season_of

from stillset_core.trend import call_thresholds


def test_the_search_comes_down_from_the_top_to_where_the_rate_is_first_reached() -> None:
    rates = np.zeros(GRID.size)
    rates[100:110] = 2.0  # the rate falls again further down, as upward crossings do
    assert threshold_for(rates, 1.0) == pytest.approx((GRID[99] + GRID[100]) / 2)


def test_a_rate_that_is_never_reached_gives_the_threshold_with_the_most_calls() -> None:
    rates = np.exp(-((GRID - 2.0) ** 2))
    assert threshold_for(rates, 5.0) == pytest.approx(2.0)


def test_a_rate_that_is_exceeded_from_the_start_gives_the_top() -> None:
    assert threshold_for(np.ones(GRID.size), 0.5) == GRID[0]


def test_calls_are_averaged_over_seasons() -> None:
    day = np.array([0.0, 50.0, 60.0])
    tracks = [(day, np.array([0.0, 5.0, 0.0])), (day, np.array([0.0, 1.0, 0.0]))]
    assert calls_per_season(tracks, 3.0) == 0.5


def test_a_track_has_one_statistic_for_each_instant() -> None:
    season = season_of(np.random.default_rng(1), Habits(weeks=12))
    day, statistic = track_of(season)
    assert day.size == len({reading.performed_at for reading in season.readings}) == statistic.size
    assert (np.diff(day) > 0).all()


def test_the_written_table_is_the_one_in_use() -> None:
    assert (call_thresholds.SETS_PER_WEEK, call_thresholds.FALSE_CALLS) == (SETS_PER_WEEK, FALSE_CALLS)
    written: dict[str, object] = {}
    exec(module_text(list(call_thresholds.THRESHOLDS)), written)
    assert written["THRESHOLDS"] == call_thresholds.THRESHOLDS
