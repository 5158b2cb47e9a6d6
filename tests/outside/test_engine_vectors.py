"""The four public cases of the engine's equations.

Source: data/engine_vectors.json, moments and likelihoods by brute-force numerical integration, apart
from the formulas of the engine. Printed to 1e-9; compared to 1e-6.
"""

import json
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.order_statistics import expected_largest
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import trend_of

VECTORS: dict[str, Any] = json.loads((Path(__file__).parent / "data/engine_vectors.json").read_text())
START = datetime(2030, 1, 7, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)


def protocol_of(case: dict[str, Any]) -> Protocol:
    settings = dict(case["settings"])
    return Protocol(reps_standard=settings.pop("reps_standard"), trend=EngineOverrides(**settings))


def readings_of(case: dict[str, Any]) -> list[Reading]:
    return [
        Reading(
            f"set-{i}",
            START + timedelta(days=reading["t_days"]),
            i,
            Direction(case["direction"]),
            value_of(reading, case["settings"]),
            KEY,
        )
        for i, reading in enumerate(case["readings"])
    ]


def value_of(reading: dict[str, Any], settings: dict[str, float]) -> Counted | Bound:
    left, right, reps = reading.get("left"), reading.get("right"), reading["maximal_reps"]
    if reading["standing"] == "at_least":
        return Bound(left, right)
    luck = (expected_largest(reps) - expected_largest(int(settings["reps_standard"]))) * settings["rep_sd"]
    adjusted = [None if value is None else value * math.exp(-luck) for value in (left, right)]
    return Counted(left, right, adjusted[0], adjusted[1], reps, reps if left else 0, reps if right else 0)


@pytest.mark.parametrize("name", VECTORS)
def test_levels_after_each_reading_equal_the_vectors(name: str) -> None:
    case = VECTORS[name]
    readings = readings_of(case)
    for i, expected in enumerate(case["expected"]):
        trend = trend_of(readings[: i + 1], protocol_of(case), readings[i].performed_at)
        sd = np.sqrt(np.diag(trend.covariance))
        seen = {
            "log_level": trend.mean[0],
            "sd": sd[0],
            "log_left": trend.mean[0],
            "log_right": trend.mean[1],
            "sd_left": sd[0],
            "sd_right": sd[1],
            "covariance": trend.covariance[0, 1],
            "log_gap": trend.mean[0] - trend.mean[1],
            "sd_log_gap": math.sqrt(trend.covariance[0, 0] + trend.covariance[1, 1] - 2 * trend.covariance[0, 1]),
        }
        named = {key: value for key, value in expected.items() if key != "t_days"}
        assert {key: seen[key] for key in named} == pytest.approx(named, abs=1e-6)


@pytest.mark.parametrize("name", VECTORS)
def test_log_likelihoods_equal_the_vectors(name: str) -> None:
    case = VECTORS[name]
    readings = readings_of(case)
    trend = trend_of(readings, protocol_of(case), readings[-1].performed_at)
    assert trend.log_likelihood == pytest.approx(case["log_likelihood"], abs=1e-6)
    assert trend.noise_scale == 1.0
