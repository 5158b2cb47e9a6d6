"""`POST /v1/sets/batch`: one bad set never refuses its neighbours."""

import gzip
import json

import httpx
from outsider import Club, a_set, ndjson, pointers, rep

KEYS = {"index", "client_ref", "outcome", "id", "standings", "problem"}
NDJSON = {"Content-Type": "application/x-ndjson"}


def test_each_item_has_its_own_outcome(club: Club) -> None:
    ref = club.athlete()
    seen = a_set(ref)
    club.post(seen)
    good, twin = a_set(ref), a_set(ref)
    items = [good, seen, seen | {"rpe": 3}, a_set(ref, rpe=99), a_set("nobody"), twin, twin, twin | {"rpe": 2}]
    answer = club.api.post("/v1/sets/batch", json=items)
    assert answer.status_code == 200
    results = answer.json()["results"]
    assert all(set(result) == KEYS for result in results)
    assert [result["index"] for result in results] == list(range(8))
    expected = ["stored", "seen", "conflict", "invalid", "invalid", "stored", "seen", "conflict"]
    assert [result["outcome"] for result in results] == expected
    assert answer.json()["counts"] == {"stored": 2, "seen": 2, "conflict": 2, "invalid": 2}
    assert pointers(results[3]["problem"]) == ["/rpe"]
    assert pointers(results[2]["problem"]) == ["/rpe"]
    assert results[4]["problem"]["code"] == "unknown-athlete"
    assert results[0]["standings"][0]["standing"] == "counts"
    assert results[0]["problem"] is None
    assert results[3]["id"] is None


def test_ndjson_lines_are_isolated_and_blank_lines_not_counted(club: Club) -> None:
    ref = club.athlete()
    body = b"\n\n" + ndjson([a_set(ref)]) + b"\n   \r\n{broken\n\xff\n" + ndjson([a_set(ref)]) + b"\n\n"
    answer = club.api.post("/v1/sets/batch", content=body, headers=NDJSON).json()
    assert [result["outcome"] for result in answer["results"]] == ["stored", "invalid", "invalid", "stored"]
    assert [result["index"] for result in answer["results"]] == [0, 1, 2, 3]
    assert answer["results"][1]["client_ref"] is None


def test_gzip_is_taken_and_a_broken_one_refused_whole(club: Club) -> None:
    ref = club.athlete()
    packed = gzip.compress(ndjson([a_set(ref), a_set(ref)]))
    headers = NDJSON | {"Content-Encoding": "gzip"}
    assert club.api.post("/v1/sets/batch", content=packed, headers=headers).json()["counts"]["stored"] == 2
    assert club.api.post("/v1/sets/batch", content=packed[:-9], headers=headers).status_code == 422
    assert club.api.post("/v1/sets/batch", content=b"not gzip", headers=headers).status_code == 422
    bomb = gzip.compress(b" " * (33 * 2**20))
    assert club.api.post("/v1/sets/batch", content=bomb, headers=headers).status_code == 413


def test_too_many_sets_are_refused_whole(club: Club) -> None:
    ref = club.athlete()
    body = ndjson([a_set(ref) for _ in range(5001)])
    assert club.api.post("/v1/sets/batch", content=body, headers=NDJSON).status_code == 413
    assert club.api.get(f"/v1/athletes/{ref}/sets").json()["items"] == []


def test_a_json_body_that_is_no_array_is_422(api: httpx.Client) -> None:
    answer = api.post("/v1/sets/batch", json={})
    assert answer.status_code == 422
    assert pointers(answer.json()) == [""]
    assert api.post("/v1/sets/batch", json=[]).json() == {
        "results": [],
        "counts": {"stored": 0, "seen": 0, "conflict": 0, "invalid": 0},
    }


def test_standings_are_those_after_the_whole_batch(club: Club) -> None:
    ref = club.athlete()
    late = a_set(ref, performed_at="2026-09-14T18:00:00Z")
    tiring = a_set(ref, performed_at="2026-09-14T17:30:00Z", reps=[rep(hold_s=50), rep(hold_s=41)])
    answer = club.api.post("/v1/sets/batch", json=[late, tiring]).json()
    assert [reason["rule"] for reason in answer["results"][0]["standings"][0]["reasons"]] == ["not-fresh"]


def test_a_dry_run_of_a_batch_stores_nothing(club: Club) -> None:
    ref = club.athlete()
    answer = club.api.post("/v1/sets/batch?dry_run=true", json=[a_set(ref)])
    assert answer.status_code == 200
    assert answer.json()["results"][0]["id"] is None
    assert answer.json()["results"][0]["standings"][0]["standing"] == "counts"
    assert club.api.get(f"/v1/athletes/{ref}/sets").json()["items"] == []


def test_a_batch_item_over_its_own_limit_is_invalid(club: Club) -> None:
    ref = club.athlete()
    huge = json.dumps(a_set(ref))[:-1].encode() + b" " * (4 * 2**20) + b"}"
    body = huge + b"\n" + ndjson([a_set(ref)])
    answer = club.api.post("/v1/sets/batch", content=body, headers=NDJSON).json()
    assert [result["outcome"] for result in answer["results"]] == ["invalid", "stored"]


def test_a_seen_item_too_has_the_standings_after_the_whole_batch(club: Club) -> None:
    ref = club.athlete()
    late = a_set(ref, performed_at="2026-09-14T18:00:00Z")
    first = club.post(late)
    tiring = a_set(ref, performed_at="2026-09-14T17:30:00Z", reps=[rep(hold_s=91)])
    for query in ("?dry_run=true", ""):
        (seen, _) = club.api.post(f"/v1/sets/batch{query}", json=[late, tiring]).json()["results"]
        assert (seen["outcome"], seen["id"]) == ("seen", first["id"])
        assert [reason["rule"] for reason in seen["standings"][0]["reasons"]] == ["not-fresh"]
    assert club.post(late, 200) == first
