"""The measures of a trace over HTTP, and the trace itself given back exactly."""

import csv
import io
import json
from dataclasses import fields

import numpy as np
import orjson
import pyarrow.parquet as pq
import pytest

from stillset_core.trace.measures import SideMeasures
from stillset_service.auth.scopes import Scope


def samples(rate_hz: float = 1000, *, lost: bool = True) -> list[float | None]:
    """Draw 2 s of rest, a squeeze of 300, rest, a spread of 250, rest; a few samples lost."""
    corners = [(0, 0), (2, 0), (2.5, 300), (6, 300), (6.5, 0), (9, 0), (9.5, -250), (13, -250), (13.5, 0), (15, 0)]
    at_s = np.arange(round(15 * rate_hz)) / rate_hz
    force = np.interp(at_s, *zip(*corners, strict=True)) + 0.5 * np.random.default_rng(1).standard_normal(at_s.size)
    values = force.round(2).tolist()
    return [None if lost and 40 <= place < 50 else value for place, value in enumerate(values)]


@pytest.fixture
def traced(club, make_set):
    """Post a set with a trace; gives its id."""
    club.athlete()

    def post(**changes: object) -> str:
        trace = {"rate_hz": 1000, "left": samples(), "right": [None if s is None else s / 2 for s in samples()]}
        document = make_set(reps=..., **({"trace": trace} | changes))
        return club.post_set(document)["id"]

    return post


def test_each_rep_has_its_measures_and_the_reading_its_peak(club, traced) -> None:
    set_id = traced()
    seen = club.get(f"/v1/sets/{set_id}/trace")
    assert (seen["rate_hz"], seen["unit"], seen["cutoff_hz"]) == (1000, "N", 20)
    assert [rep["direction"] for rep in seen["reps"]] == ["squeeze", "spread"]
    stored = club.get(f"/v1/sets/{set_id}")
    for rep, standing, force in zip(seen["reps"], stored["standings"], (300, 250), strict=True):
        assert set(rep) == {"direction", "started_s", "hold_s", "left", "right", "findings"}
        for side, share in (("left", 1), ("right", 0.5)):
            measures = rep[side]
            assert set(measures) == {member.name for member in fields(SideMeasures)}
            assert measures["peak"] == standing["reading"][side]
            assert measures["best_1_s_mean"] == pytest.approx(force * share, rel=0.001)
            assert measures["impulse_n_s"] == pytest.approx(4 * force * share, rel=0.002)
            assert measures["rfd_0_100_ms_n_per_s"] == pytest.approx(2 * force * share, rel=0.05)
        assert rep["findings"] == []
    assert sum(rep["hold_s"] for rep in seen["reps"]) == pytest.approx(stored["load"]["hold_s"])


def test_forces_are_in_the_si_unit_of_the_set(club, traced) -> None:
    seen = club.get(f"/v1/sets/{traced(unit='kN', trace={'rate_hz': 50, 'left': [s / 1000 for s in _whole()]})}/trace")
    squeeze = seen["reps"][0]
    assert (seen["unit"], squeeze["right"]) == ("N", None)
    assert squeeze["left"]["best_1_s_mean"] == pytest.approx(300, rel=0.001)
    assert squeeze["left"]["rfd_0_100_ms_n_per_s"] is None


def _whole() -> list[float]:
    return [value for value in samples(50, lost=False) if value is not None]


def test_a_finding_is_said_in_words(club, traced) -> None:
    values = samples()
    values[4000:4010] = [380.0] * 10
    seen = club.get(f"/v1/sets/{traced(trace={'rate_hz': 1000, 'left': values})}/trace")
    (finding,) = seen["reps"][0]["findings"]
    assert (finding["finding"], finding["side"]) == ("spike", "left")
    assert finding["seen"] > finding["limit"]
    assert (
        finding["text"] == f"For less than 0.1 s the force stands {finding['seen']:.1f} N out of what lies around it."
    )


def test_a_trace_without_a_rep_has_no_measures(club, traced) -> None:
    assert club.get(f"/v1/sets/{traced(trace={'rate_hz': 50, 'left': [1.0, 2.0] * 50})}/trace")["reps"] == []


def test_the_openapi_document_names_every_member(club, traced) -> None:
    document = club.get("/openapi.json")
    answer = document["paths"]["/v1/sets/{set_id}/trace"]["get"]["responses"]["200"]
    assert answer["content"]["application/json"]["schema"]["$ref"] == "#/components/schemas/TraceMeasures"
    values = samples()
    values[4000:4010] = [380.0] * 10
    seen = club.get(f"/v1/sets/{traced(trace={'rate_hz': 1000, 'left': values})}/trace")
    rep = seen["reps"][0]
    given = {"TraceMeasures": seen, "RepMeasures": rep, "SideMeasures": rep["left"], "Finding": rep["findings"][0]}
    schemas = document["components"]["schemas"]
    assert {name: set(schemas[name]["properties"]) for name in given} == {
        name: set(value) for name, value in given.items()
    }


def test_sets_without_a_trace_unknown_ones_and_those_of_others_are_not_found(club, service, traced, make_set) -> None:
    set_id = traced()
    as_reps = club.post_set(make_set())["id"]
    assert "as reps" in club.get(f"/v1/sets/{as_reps}/trace", 404)["detail"]
    assert club.get("/v1/sets/nothing/trace", 404)["code"]
    other = service.club()
    assert other.get(f"/v1/sets/{set_id}/trace", 404)["status"] == 404
    assert club.with_scopes(Scope.WRITE).send("GET", f"/v1/sets/{set_id}/trace").status_code == 403
    assert club.send("GET", f"/v1/sets/{set_id}/trace?as_of=2026-09-14").status_code == 422
    service.runner.run(other.client.aclose())


def test_an_unchanged_copy_costs_no_body_and_an_amended_trace_is_another(club, traced) -> None:
    set_id = traced()
    path = f"/v1/sets/{set_id}/trace"
    first = club.send("GET", path)
    again = club.send("GET", path, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content, again.headers["ETag"]) == (304, b"", first.headers["ETag"])
    changes = {"trace": {"left": [None if value is None else value * 1.1 for value in samples()]}}
    club.post(f"/v1/sets/{set_id}/amend", {"reason": "calibration", "changes": changes}, 200)
    after = club.send("GET", path, headers={"If-None-Match": first.headers["ETag"]})
    assert after.status_code == 200
    peaks = [answer.json()["reps"][0]["left"]["peak"] for answer in (first, after)]
    assert peaks[1] == pytest.approx(1.1 * peaks[0], rel=0.001)


def test_flat_formats_have_a_row_for_each_side_of_each_rep(club, traced) -> None:
    path = f"/v1/sets/{traced()}/trace"
    reps = club.get(path)["reps"]
    text = club.send("GET", path, headers={"Accept": "text/csv"}).text
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(row["rep"], row["direction"], row["side"]) for row in rows] == [
        ("1", "squeeze", "left"),
        ("1", "squeeze", "right"),
        ("2", "spread", "left"),
        ("2", "spread", "right"),
    ]
    assert float(rows[2]["impulse_n_s"]) == reps[1]["left"]["impulse_n_s"]
    content = club.send("GET", path, headers={"Accept": "application/vnd.apache.parquet"}).content
    table = pq.read_table(io.BytesIO(content))
    assert table.column("hold_s").to_pylist()[1] == reps[0]["right"]["hold_s"]
    assert club.send("GET", path, headers={"Accept": "image/png"}).status_code == 406


def test_a_large_trace_reads_back_exactly(club, traced) -> None:
    noise = np.random.default_rng(1)
    odd = [0.1, -0.0, 1e-300, 5e-324, 123456.789012345678, 3, None, 1e100, 0.30000000000000004]
    left = [*noise.normal(0, 300, 119_991).tolist(), *odd]
    right = noise.normal(0, 300, 120_000).round(3).tolist()
    trace = {"rate_hz": 5000, "left": left, "right": right}
    set_id = traced(trace=trace)
    for answer in (club.send("GET", f"/v1/sets/{set_id}"), club.send("GET", "/v1/athletes/MB-07/sets")):
        content = answer.json()
        given = content.get("items", [content])[0]["trace"]
        assert json.dumps(given) == json.dumps(trace)  # to the last digit, the sign of zero and whole numbers included
    assert orjson.loads(answer.content)["items"][0]["trace"] == trace
