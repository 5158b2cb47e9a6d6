"""The core by itself: judging against validation by pydantic, the trend engine against statsmodels."""

import time
import warnings
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from statistics import median

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter
from speed_bodies import sets_of
from speed_ratios import Ratio, as_speed_up, as_time
from squad_simulator import SERIES, Habits, season_of
from statsmodels.tsa.statespace.structural import UnobservedComponents  # type: ignore[import-untyped]  # ships no types

from stillset_core.document import parse_set
from stillset_core.history import judge_among
from stillset_core.intake import to_record
from stillset_core.judging.outcome import Counted
from stillset_core.members import SetMembers
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, InstrumentKind, Position, StandardPosition
from stillset_core.series import Reading
from stillset_core.trend import trend_of, warm_up
from stillset_core.trend.filtering import NO_CLONES, filter_readings
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import model_at, parameters_for
from stillset_core.trend.rows import rows_of

__all__ = ["judging", "trend"]

PROTOCOL = Protocol()
STANDARD = StandardPosition(
    Position("supine-bent-knee", knee_angle_deg=60.0, bar_height=34.0, foot_mark="C"),
    InstrumentKind.FIXED_FRAME,
    date(2020, 1, 1),
)
NOW = datetime(2030, 1, 1, tzinfo=UTC)


def judging(*, quick: bool) -> list[Ratio]:
    """Judge the sets of one athlete's season as they come, each among those before it."""
    validate = TypeAdapter(SetMembers).validate_json
    bodies = sets_of(["SP-001"], 20 if quick else 200, seed=1)
    records = [to_record(parse_set(body, now=NOW), athlete_ref="SP-001") for body in bodies]
    earlier = [records[:place] for place in range(len(records))]
    judged, validated = list[float](), list[float]()
    for _ in range(2 if quick else 25):
        judged.append(
            _seconds(
                lambda: [
                    judge_among(r, others, (STANDARD,), PROTOCOL) for r, others in zip(records, earlier, strict=True)
                ]
            )
        )
        validated.append(_seconds(lambda: [validate(body) for body in bodies]))
    measured = f"judge and reading, {len(bodies)} sets"
    return [as_time("judging", measured, judged, ("pydantic validate_json of the same sets", validated), 1.5)]


def trend(*, quick: bool) -> list[Ratio]:
    """Filter 200 readings ten times: nine passes for the noise scale, and the final one; then all of the trend."""
    warm_up()
    readings = season_of(np.random.default_rng(19), Habits()).readings[: 40 if quick else 200]
    series = _log_series(readings)
    parameters = parameters_for(PROTOCOL, SERIES.quantity)
    rows = rows_of(readings, parameters)
    end = readings[-1].performed_at

    def ten_passes() -> None:
        model = model_at(parameters, noise_scale_of(rows, parameters))
        filter_readings(rows, parameters, model, NO_CLONES, rows.day[-1])

    passes, everything, fitted = list[float](), list[float](), list[float]()
    for _ in range(1 if quick else 5):
        fitted.append(_seconds(lambda: _fit(series)))
        passes.append(median(_seconds(ten_passes) for _ in range(9)))
        everything.append(median(_seconds(lambda: trend_of(readings, PROTOCOL, end)) for _ in range(9)))
    ceiling = "statsmodels UnobservedComponents, four series fitted"
    return [
        as_speed_up("trend", f"ten passes over {len(readings)} readings", passes, (ceiling, fitted), 200),
        as_speed_up("trend", "all of their trend, alarms and history too", everything, (ceiling, fitted), None),
    ]


def _log_series(readings: Sequence[Reading]) -> list[NDArray[np.float64]]:
    """Log values of each side of each direction, from the readings that count."""
    counting = [(one.direction, one.value) for one in readings if isinstance(one.value, Counted)]
    sides = [
        [value.adjusted_left if side == "left" else value.adjusted_right for way, value in counting if way is direction]
        for direction in Direction
        for side in ("left", "right")
    ]
    return [np.log([value for value in side if value is not None]) for side in sides]


def _fit(series: Sequence[NDArray[np.float64]]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # whether a fit converged is not what is measured
        for one in series:
            UnobservedComponents(one, level="local level").fit(disp=False)


def _seconds(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started
