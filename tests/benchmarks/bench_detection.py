"""Days from the onset of a decline to its call, at equal false calls: ``python tests/benchmarks/bench_detection.py``.

Each method's threshold is set on quiet seasons of its own to one false call per athlete and 40 weeks, for
each typical error and each number of sets a week, and checked on other quiet seasons. The settings of the
charts and of the test day are the best of those tried for a decline of 10 % of both sides, on seasons that
are used for nothing else. All athletes are simulated and resemble the model. ``--quick`` runs a few
seasons; ``--json FILE`` keeps the figures.
"""

import argparse
import json
import math
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple, TypeVar

import numpy as np
from call_scoring import Delay, Rate, call_days, delay_of, rate_of, ratio_of, threshold_for_rate
from charts import CUSUM_CHARTS, EWMA_CHARTS, REFERENCES, Chart, Track, chart_track, track_of_tests
from detectors import (
    DECLINES,
    Charts,
    Setting,
    chart_tracks,
    declining,
    engine_run,
    optimal_track,
    seasons,
    tests_of,
    told_track,
    tracks_of_test_days,
)
from level_coverage import NOISES, Coverage, coverage_at
from numpy.typing import NDArray
from passing_moves import PASSING
from squad_simulator import unmoved

SEED = 20301125
ERRORS = (0.055, 0.07, 0.09)
WEEKLY = (2.0, 1.0)
WANTED = 1.0
"""False calls per athlete and 40 weeks."""
ENGINE, TOLD, EWMA, TEXTBOOK, CUSUM, MATCHED, PUBLISHED, OPTIMAL = METHODS = (
    "engine",
    "engine told the noise",
    "EWMA",
    "EWMA, textbook",
    "CUSUM",
    "test, matched",
    "test, MDC",
    "optimal",
)
SHIPPED = "engine, shipped thresholds"
GOALS = {
    "10 % both sides": {OPTIMAL: 1.25, EWMA: 0.6, TEXTBOOK: 0.6, MATCHED: 0.5},
    "10 % one side": {OPTIMAL: 1.6, EWMA: 0.6, TEXTBOOK: 0.6, MATCHED: 0.5},
}
REFERENCE = Setting(0.055, 2.0)
"""Where passing moves are tried."""
CHOOSING, CALIBRATING, CHECKING, DECLINING = range(4)
"""What simulated seasons are for; no season serves two ends."""

Option = TypeVar("Option")


class Sizes(NamedTuple):
    """Numbers of seasons (quiet ones: so many to calibrate, as many to check) and of squads."""

    choosing: int
    quiet: int
    declining: int
    squads: int


FULL = Sizes(choosing=300, quiet=800, declining=400, squads=40)
QUICK = Sizes(choosing=8, quiet=16, declining=8, squads=1)


class Block(NamedTuple):
    """All figures of one setting.

    False calls per season by method, on the seasons that calibrated and on the others; delays by decline and method;
    false calls that passing moves add.
    """

    setting: Setting
    charts: Charts
    calibrated: dict[str, Rate]
    false_calls: dict[str, Rate]
    delays: dict[str, dict[str, Delay]]
    passing: dict[str, dict[str, Rate]]


def seed_of(setting: Setting, purpose: int, number: int = 0) -> list[int]:
    """Seed of the seasons of one setting that serve one end."""
    return [SEED, round(1000 * setting.error), round(setting.weekly), purpose, number]


def delay_at_rate(quiet: list[Track], late: list[Track], onsets: list[float]) -> Delay:
    """Delay of a method once its threshold is set on quiet seasons."""
    threshold = threshold_for_rate(quiet, WANTED)
    return delay_of([call_days(track, threshold) for track in late], onsets)


def best_of(options: Sequence[Option], score: Callable[[Option], Delay]) -> Option:
    """Option with the shortest median delay; of equal ones that which finds more declines soon."""
    scores = [score(option) for option in options]
    return options[min(range(len(options)), key=lambda i: (scores[i].median, -scores[i].soon))]


def chosen_charts(setting: Setting, count: int) -> Charts:
    """Best settings of the charts and of the test day for a decline of 10 % of both sides."""
    name = "10 % both sides"
    quiet = seasons(seed_of(setting, CHOOSING, 0), setting.habits, count, None)
    late = seasons(seed_of(setting, CHOOSING, 1), setting.habits, count, name)
    tests = months(seed_of(setting, CHOOSING, 2), setting, count, None)
    late_tests = months(seed_of(setting, CHOOSING, 3), setting, count, name)

    def score_of_chart(chart: Chart) -> Delay:
        calm, falling = ([chart_track(season, chart, setting.error) for season, _ in drawn] for drawn in (quiet, late))
        return delay_at_rate(calm, falling, [onset for _, onset in late])

    def score_of_reference(reference: str) -> Delay:
        calm, falling = (
            [track_of_tests(logs, reference, setting.error) for logs, _ in drawn] for drawn in (tests, late_tests)
        )
        return delay_at_rate(calm, falling, [onset for _, onset in late_tests])

    return Charts(
        best_of(EWMA_CHARTS, score_of_chart),
        best_of(CUSUM_CHARTS, score_of_chart),
        best_of(REFERENCES, score_of_reference),
    )


def months(
    seed: list[int], setting: Setting, count: int, decline: str | None
) -> list[tuple[NDArray[np.float64], float]]:
    """Simulate test days with their onsets."""
    rng = np.random.default_rng(seed)
    drawn = []
    for _ in range(count):
        habits = setting.habits if decline is None else declining(rng, setting.habits, decline)
        drawn.append((tests_of(rng, habits), habits.decline_begins))
    return drawn


def optimal_for(decline: str) -> str:
    """Name of the optimal detector of one decline."""
    return f"{OPTIMAL}: {decline}"


class Watched(NamedTuple):
    """Statistics of every method on the same number of seasons, shipped calls of the engine, onsets by kind of data."""

    tracks: dict[str, list[Track]]
    shipped: list[NDArray[np.float64]]
    onsets: list[float]
    test_onsets: list[float]


def watch(setting: Setting, charts: Charts, seed: list[int], count: int, decline: str | None) -> Watched:
    """Run every method; without a decline the optimal detector of each."""
    known = list(DECLINES) if decline is None else [decline]
    tracks: dict[str, list[Track]] = {}
    watched = Watched(tracks, [], [], [])
    for season, onset in seasons(seed, setting.habits, count, decline):
        run = engine_run(season)
        found = {ENGINE: run.track, TOLD: told_track(season, setting), **chart_tracks(season, setting, charts)}
        found |= {optimal_for(name): optimal_track(season, setting, name) for name in known}
        for name, track in found.items():
            tracks.setdefault(name, []).append(track)
        watched.shipped.append(run.calls)
        watched.onsets.append(onset)
    for logs, onset in months([*seed, 1], setting, count, decline):
        for name, track in tracks_of_test_days(logs, setting, charts).items():
            tracks.setdefault(name, []).append(track)
        watched.test_onsets.append(onset)
    return watched


def measured(setting: Setting, sizes: Sizes) -> Block:
    """Choose, calibrate, check, and measure every decline."""
    charts = chosen_charts(setting, sizes.choosing)
    calm = watch(setting, charts, seed_of(setting, CALIBRATING), sizes.quiet, None)
    thresholds = {name: threshold_for_rate(tracks, WANTED) for name, tracks in calm.tracks.items()}
    thresholds[PUBLISHED] = 1.0
    check = watch(setting, charts, seed_of(setting, CHECKING), sizes.quiet, None)
    calibrated, false_calls = (
        {name: rate_at(tracks, thresholds[name]) for name, tracks in one.tracks.items()} for one in (calm, check)
    )
    false_calls[SHIPPED] = rate_of([len(days) for days in check.shipped])
    delays = {}
    for number, decline in enumerate(DECLINES):
        seen = watch(setting, charts, seed_of(setting, DECLINING, number), sizes.declining, decline)
        delays[decline] = {
            name: delay_of(
                [call_days(track, thresholds[name]) for track in tracks],
                seen.test_onsets if name in (MATCHED, PUBLISHED) else seen.onsets,
            )
            for name, tracks in seen.tracks.items()
        }
        delays[decline][OPTIMAL] = delays[decline].pop(optimal_for(decline))
        delays[decline][SHIPPED] = delay_of(seen.shipped, seen.onsets)
    moved = passing_rates(setting, charts, thresholds, sizes.quiet) if setting == REFERENCE else {}
    return Block(setting, charts, calibrated, false_calls, delays, moved)


def rate_at(tracks: list[Track], threshold: float) -> Rate:
    """False calls per season at a threshold."""
    return rate_of([len(call_days(track, threshold)) for track in tracks])


def passing_rates(
    setting: Setting, charts: Charts, thresholds: dict[str, float], count: int
) -> dict[str, dict[str, Rate]]:
    """False calls per season added by what passes, on the seasons of the check: pairs differ in nothing else."""
    calls = {}
    for name, passing in {"": unmoved, **PASSING}.items():
        habits = replace(setting.habits, passing=passing)
        counts: dict[str, list[int]] = {ENGINE: [], SHIPPED: [], EWMA: []}
        for season, _ in seasons(seed_of(setting, CHECKING), habits, count, None):
            run = engine_run(season)
            counts[ENGINE].append(len(call_days(run.track, thresholds[ENGINE])))
            counts[SHIPPED].append(len(run.calls))
            chart = chart_track(season, charts.ewma, setting.error)
            counts[EWMA].append(len(call_days(chart, thresholds[EWMA])))
        calls[name] = counts
    quiet = calls.pop("")
    return {
        name: {method: rate_of(list(np.subtract(counts[method], quiet[method]))) for method in counts}
        for name, counts in calls.items()
    }


def verdict(block: Block, decline: str, other: str) -> str:
    """Ratio of the engine's median delay to another method's, and whether its goal is met."""
    ratio = ratio_of(block.delays[decline][ENGINE], block.delays[decline][other])
    if math.isnan(ratio.value):
        return "neither reached"
    text = f"{ratio.value:.2f} ± {ratio.error:.2f}" if 0 < ratio.value < math.inf else f"{ratio.value:.0f}"
    goal = GOALS.get(decline, {}).get(other)
    if goal is None:
        return text
    return f"{text}, {'met' if ratio.value <= goal else 'not met'}"


def delay_text(delay: Delay) -> str:
    """Median with its error, and the share found within eight weeks."""
    median = f"{delay.median:.1f} ± {delay.error:.1f}" if math.isfinite(delay.median) else "not reached"
    return f"{median} ({delay.soon:.0%})"


def rate_text(rate: Rate) -> str:
    """Calls per season with their error."""
    return f"{rate.value:.2f} ± {rate.error:.2f}"


def row(cells: Sequence[str]) -> str:
    """One line of a table."""
    return f"| {' | '.join(cells)} |\n"


def table(blocks: Iterable[Block]) -> Iterator[str]:
    """Lines of the table, block by block as they are measured."""
    compared = (OPTIMAL, EWMA, TEXTBOOK, MATCHED)
    yield row(["error, sets a week", "decline", *METHODS, *(f"engine ÷ {name}" for name in compared)])
    yield row(["---"] * (2 + len(METHODS) + len(compared)))
    for block in blocks:
        setting = f"{block.setting.error:.1%}, {block.setting.weekly:.0f}"
        rates = {name: block.false_calls[name] for name in METHODS if name != OPTIMAL}
        optimal = [block.false_calls[optimal_for(name)] for name in DECLINES]
        rates[OPTIMAL] = Rate(float(np.mean([one.value for one in optimal])), float(max(one.error for one in optimal)))
        yield row([setting, "none: false calls", *(rate_text(rates[name]) for name in METHODS), *[""] * len(compared)])
        for decline, delays in block.delays.items():
            ratios = [verdict(block, decline, other) for other in compared]
            yield row([setting, decline, *(delay_text(delays[name]) for name in METHODS), *ratios])


def remarks(blocks: Sequence[Block]) -> Iterator[str]:
    """Lines on the charts that were chosen and on what passes."""
    for block in blocks:
        yield f"{block.setting}: {block.charts.ewma}, {block.charts.cusum}, test against {block.charts.reference}\n"
        calls = rate_text(block.false_calls[SHIPPED])
        shipped = ", ".join(f"{decline} {delay_text(delays[SHIPPED])}" for decline, delays in block.delays.items())
        yield f"{SHIPPED}: false calls {calls}; {shipped}\n"
        for name, rates in block.passing.items():
            added = ", ".join(f"{method} {rate.value:+.2f} ± {rate.error:.2f}" for method, rate in rates.items())
            yield f"{name}: false calls added per season: {added}\n"


def coverage_lines(coverage: dict[str, Coverage]) -> Iterator[str]:
    """Lines of the coverage of the levels' intervals."""
    for name, (begins, later) in coverage.items():
        met = "met" if all(0.93 <= one.value <= 0.97 for one in (begins, later)) else "not met"
        yield (
            f"coverage, noise {name}: {begins.value:.1%} ± {begins.error:.1%} at the squad's 200th reading, "
            f"{later.value:.1%} ± {later.error:.1%} from then on: 93-97 % {met}\n"
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a few seasons of one setting")
    parser.add_argument("--json", type=Path, help="where to keep the false calls, delays and coverage")
    wanted = parser.parse_args()
    sizes = QUICK if wanted.quick else FULL
    settings = [REFERENCE] if wanted.quick else [Setting(error, weekly) for weekly in WEEKLY for error in ERRORS]
    say = sys.stdout.write
    say(f"{sizes}\n")
    blocks: list[Block] = []

    def in_turn() -> Iterator[Block]:
        for setting in settings:
            blocks.append(measured(setting, sizes))
            yield blocks[-1]

    for line in table(in_turn()):
        say(line)
        sys.stdout.flush()
    coverage = {name: coverage_at(times, sizes.squads, SEED) for name, times in NOISES.items()}
    for lines in (remarks(blocks), coverage_lines(coverage)):
        sys.stdout.writelines(lines)
    if wanted.json:
        kept = {"blocks": [block._asdict() for block in blocks], "coverage": coverage}
        wanted.json.write_text(json.dumps(kept, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
