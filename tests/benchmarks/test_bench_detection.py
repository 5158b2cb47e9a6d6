import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from call_scoring import Delay, call_days, calls_at, delay_of, ratio_of, threshold_for_rate
from charts import CUSUM_CHARTS, EWMA_CHARTS, REFERENCES, Chart, chart_track, track_of_tests
from detectors import DECLINES, Setting, log_decline, optimal_track, seasons
from level_coverage import NOISES
from passing_moves import after_matches, squad_dip
from squad_simulator import Season

BENCH = Path(__file__).with_name("bench_detection.py")
QUIET_SEASONS = 16
CALIBRATED = {
    "engine",
    "engine told the noise",
    "EWMA",
    "EWMA, textbook",
    "CUSUM",
    *(f"optimal: {name}" for name in DECLINES),
}
SETTING = Setting(0.055, 2.0)


def test_the_detection_benchmark_runs_and_gives_every_method_its_rate_of_false_calls(tmp_path: Path) -> None:
    written = tmp_path / "figures.json"
    printed = subprocess.run(
        [sys.executable, str(BENCH), "--quick", "--json", str(written)], capture_output=True, text=True, check=True
    ).stdout
    kept = json.loads(written.read_text())
    (block,) = kept["blocks"]
    assert set(block["calibrated"]) > CALIBRATED
    for name in CALIBRATED:
        assert block["calibrated"][name][0] == pytest.approx(1.0, abs=1.5 / QUIET_SEASONS)
    rates = [*block["false_calls"].values(), *(rate for moved in block["passing"].values() for rate in moved.values())]
    assert all(math.isfinite(figure) for rate in rates for figure in rate)
    for decline in DECLINES:
        assert f"| {decline} |" in printed
        for median, error, soon in block["delays"][decline].values():
            assert median > 0
            assert math.isfinite(error) is math.isfinite(median)
            assert 0 <= soon <= 1
    assert all(0 <= share <= 1 for noise in NOISES for share, _ in kept["coverage"][noise])


def test_the_compiled_count_of_calls_follows_the_engines_rule() -> None:
    rng = np.random.default_rng(2)
    thresholds = np.linspace(-1.0, 2.0, 7)
    for _ in range(20):
        day = np.cumsum(rng.exponential(4.0, 60))
        statistic = np.convolve(rng.normal(size=60), np.ones(4) / 2, "same")
        expected = [call_days((day, statistic), threshold).size for threshold in thresholds]
        assert calls_at(day, statistic, thresholds).tolist() == expected


def test_a_threshold_gives_the_wanted_rate_on_the_seasons_it_was_set_on() -> None:
    rng = np.random.default_rng(3)
    tracks = [(np.arange(280.0), rng.normal(size=280)) for _ in range(200)]
    threshold = threshold_for_rate(tracks, 0.5)
    assert np.mean([call_days(track, threshold).size for track in tracks]) == pytest.approx(0.5, abs=0.02)


def test_a_delay_is_to_the_first_call_after_the_onset_and_infinite_without_one() -> None:
    days = [np.array([50.0, 120.0, 150.0]), np.array([60.0]), np.array([110.0])]
    delay = delay_of(days, [100.0, 100.0, 100.0])
    assert delay.median == 20.0
    assert delay.soon == pytest.approx(2 / 3)
    assert delay_of(days[1:2], [100.0]).median == math.inf


def test_a_ratio_says_which_of_two_medians_was_not_reached() -> None:
    reached, never = Delay(20.0, 2.0, 0.9), Delay(math.inf, math.nan, 0.1)
    assert ratio_of(reached, Delay(40.0, 4.0, 0.5)) == (0.5, pytest.approx(0.5 * math.sqrt(0.02)))
    assert ratio_of(reached, never).value == 0.0
    assert ratio_of(never, reached).value == math.inf
    assert math.isnan(ratio_of(never, never).value)


@pytest.fixture(scope="module")
def season() -> Season:
    return seasons([4], SETTING.habits, 1, "15 % both sides")[0][0]


@pytest.mark.parametrize("chart", [EWMA_CHARTS[0], EWMA_CHARTS[-1], CUSUM_CHARTS[0], CUSUM_CHARTS[-1]])
def test_a_chart_knows_nothing_of_later_readings(season: Season, chart: Chart) -> None:
    day, statistic = chart_track(season, chart, SETTING.error)
    half = Season(season.readings[: len(season.readings) // 2], season.truth, season.noise_scale)
    early_day, early = chart_track(half, chart, SETTING.error)
    assert (day[: early.size] == early_day).all()
    assert (statistic[: early.size] == early).all()


def test_the_charts_and_the_optimal_detector_rise_after_a_decline() -> None:
    late = seasons([5], SETTING.habits, 20, "15 % both sides")
    for track_of in (
        lambda one: chart_track(one, EWMA_CHARTS[4], SETTING.error),
        lambda one: chart_track(one, CUSUM_CHARTS[4], SETTING.error),
        lambda one: optimal_track(one, SETTING, "15 % both sides"),
    ):
        before, after = [], []
        for one, onset in late:
            day, statistic = track_of(one)
            before.append(statistic[(day > 42) & (day < onset)].mean())
            after.append(statistic[(day > onset + 14) & (day < onset + 42)].mean())
        assert np.mean(np.array(after) > np.array(before)) > 0.8


def test_a_fall_of_one_minimal_detectable_change_between_tests_counts_one() -> None:
    logs = np.zeros((4, 4))
    logs[2:, 1] = -1.96 * math.sqrt(2) * 0.055
    first, before, mean = (track_of_tests(logs, reference, 0.055)[1] for reference in REFERENCES)
    assert first == pytest.approx([0, 0, 1, 1])
    assert before == pytest.approx([0, 0, 1, 0])
    assert mean == pytest.approx([0, 0, 1, 2 / 3])


def test_only_the_declining_sides_decline() -> None:
    assert np.exp(log_decline("10 % one side")) == pytest.approx([0.9, 1, 1, 1])


def test_passing_moves_reach_the_published_figures_and_pass() -> None:
    dip = squad_dip(np.arange(280.0))
    assert np.expm1(dip.min()) == pytest.approx(-0.026)
    assert dip[0] == dip[-1] == 0
    swing = np.expm1(after_matches(42.0 + 7 * 5 + np.array([0.0, 1.0, 2.0, 3.0, 6.0])))
    assert swing == pytest.approx([-0.013, -0.007, 0.038, 0.031, 0.0])
    assert not after_matches(np.array([0.0, 41.0, 250.0])).any()
