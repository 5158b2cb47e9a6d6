"""The public vectors of the engine's equations, through the service: posted sets in, levels out, to 1e-6.

Source: four cases computed by brute-force numerical integration, apart from the formulas of the engine
(tests/outside/data/engine_vectors.json).
"""

import json
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from outsider import Club, a_set, rep

VECTORS: dict[str, Any] = json.loads((Path(__file__).parents[1] / "outside/data/engine_vectors.json").read_text())
START = datetime(2026, 3, 1, tzinfo=UTC)


@pytest.mark.parametrize("name", VECTORS)
def test_levels_through_the_service_equal_the_vectors(club: Club, name: str) -> None:
    case = VECTORS[name]
    settings = dict(case["settings"])
    reps_standard = settings.pop("reps_standard")
    club.protocol(reps_standard=reps_standard, trend=settings, min_rest_s=0)
    ref = club.athlete()
    for reading in case["readings"]:
        reps = [rep(left=reading.get("left"), right=reading.get("right")) for _ in range(reading["maximal_reps"])]
        club.post(
            a_set(
                ref,
                performed_at=(START + timedelta(days=reading["t_days"])).isoformat(),
                intended_percent=100 if reading["standing"] == "counts" else 70,
                reps=reps,
            )
        )
    for expected in case["expected"]:
        as_of = (START + timedelta(days=expected["t_days"])).isoformat()
        (series,) = club.api.get(f"/v1/athletes/{ref}/trend", params={"as_of": as_of}).json()["series"]
        sides = [("left", "log_left", "sd_left"), ("right", "log_right", "sd_right")]
        if "log_level" in expected:
            sides = [("left", "log_level", "sd")]
        for side, mean, sd in sides:
            level = series["squeeze"][side]
            assert math.log(level["level"]) == pytest.approx(expected[mean], abs=1e-6)
            width = (math.log(level["high"]) - math.log(level["low"])) / (2 * 1.959964)
            assert width == pytest.approx(expected[sd], abs=1e-6)
