"""A batch: every item has its own outcome, and the standings are those after the whole of it."""

import gzip
import json

import pytest

NDJSON = {"Content-Type": "application/x-ndjson"}
JSON = {"Content-Type": "application/json"}
MEMBERS = ["index", "client_ref", "outcome", "id", "standings", "problem"]


def lines(documents) -> bytes:
    return b"\n".join(json.dumps(document).encode() for document in documents)


def outcomes(answer) -> list[str]:
    return [result["outcome"] for result in answer["results"]]


def test_each_item_has_its_own_outcome_and_all_members(club, make_set, pointers) -> None:
    club.athlete()
    seen = make_set()
    first = club.post_set(seen)
    new = make_set()
    answer = club.batch([new, seen, seen | {"rpe": 3}, make_set(rpe=99), make_set("nobody"), 7, {}])
    assert outcomes(answer) == ["stored", "seen", "conflict", "invalid", "invalid", "invalid", "invalid"]
    assert answer["counts"] == {"stored": 1, "seen": 1, "conflict": 1, "invalid": 4}
    results = answer["results"]
    assert all(list(result) == MEMBERS for result in results)
    assert [result["index"] for result in results] == list(range(7))
    assert [result["client_ref"] for result in results[:3]] == [new["client_ref"], *[seen["client_ref"]] * 2]
    assert results[5]["client_ref"] is None
    assert results[6]["client_ref"] is None
    assert results[0]["id"] is not None
    assert (results[1]["id"], results[1]["standings"]) == (first["id"], first["standings"])
    assert [result["problem"] for result in results[:2]] == [None, None]
    assert [result["standings"] for result in results[2:]] == [None] * 5
    assert [result["id"] for result in results[2:]] == [None] * 5
    assert pointers(results[2]["problem"]) == ["/rpe"]
    assert pointers(results[3]["problem"]) == ["/rpe"]
    assert results[3]["client_ref"] is not None
    assert results[4]["problem"]["code"] == "unknown-athlete"
    assert [result["problem"]["status"] for result in results[2:5]] == [409, 422, 422]
    assert pointers(results[5]["problem"]) == [""]
    assert "/client_ref" in pointers(results[6]["problem"])


def test_twins_within_a_batch_are_seen_or_in_conflict(club, make_set, pointers) -> None:
    club.athlete()
    one = make_set()
    answer = club.batch([one, one, one | {"rpe": 2}])
    assert outcomes(answer) == ["stored", "seen", "conflict"]
    first, twin, other = answer["results"]
    assert twin["id"] == first["id"]
    assert twin["standings"] == first["standings"]
    assert pointers(other["problem"]) == ["/rpe"]
    assert club.post_set(one, 200)["id"] == first["id"]


def test_a_retried_batch_stores_nothing_twice_and_answers_the_same_standings(club, make_set) -> None:
    club.athlete()
    documents = [make_set(performed_at=f"2026-09-{day:02d}T10:00:00Z") for day in range(1, 11)]
    first, again = club.batch(documents), club.batch(documents)
    assert first["counts"]["stored"] == again["counts"]["seen"] == 10
    assert [result["standings"] for result in first["results"]] == [result["standings"] for result in again["results"]]
    assert len(club.items("/v1/athletes/MB-07/sets")) == 10


def test_standings_are_those_after_the_whole_batch(club, make_set, make_rep) -> None:
    club.athlete()
    late = make_set(performed_at="2026-09-14T18:00:00Z")
    tiring = make_set(performed_at="2026-09-14T17:30:00Z", reps=[make_rep(hold_s=50), make_rep(hold_s=41)])
    (result, _) = club.batch([late, tiring])["results"]
    assert [reason["rule"] for reason in result["standings"][0]["reasons"]] == ["not-fresh"]
    assert club.post_set(late, 200)["standings"] == result["standings"]


def test_a_batch_and_single_posts_lead_to_the_same_book(club, service, make_set, make_rep) -> None:
    documents = [
        make_set(performed_at=f"2026-09-14T{hour:02d}:{minute:02d}:00Z", reps=[make_rep(hold_s=9)], intended_percent=85)
        for hour in range(10, 14)
        for minute in (0, 20, 40)
    ]
    club.athlete()
    club.batch(documents)
    other = service.club()
    other.athlete()
    for document in reversed(documents):
        other.post_set(document)
    view = "/v1/athletes/MB-07/sets?limit=1000"
    by_batch, by_post = ({row["client_ref"]: row["standings"] for row in each.items(view)} for each in (club, other))
    assert by_batch == by_post
    service.runner.run(other.client.aclose())


def test_a_dry_run_of_a_batch_judges_and_stores_nothing(club, make_set, make_rep) -> None:
    club.athlete()
    late = make_set(performed_at="2026-09-14T18:00:00Z")
    tiring = make_set(performed_at="2026-09-14T17:30:00Z", reps=[make_rep(hold_s=91)])
    answer = club.batch([late, tiring, late, late | {"rpe": 1}], query="?dry_run=true")
    assert outcomes(answer) == ["stored", "stored", "seen", "conflict"]
    assert [result["id"] for result in answer["results"]] == [None] * 4
    assert answer["results"][0]["standings"][0]["standing"] == "set_aside"
    assert club.items("/v1/athletes/MB-07/sets") == []
    real = club.batch([late, tiring])
    assert real["results"][0]["standings"] == answer["results"][0]["standings"]


def test_ndjson_lines_are_isolated_and_blank_ones_not_counted(club, make_set) -> None:
    club.athlete()
    sound = [lines([make_set()]) for _ in range(2)]
    broken = [b"{broken", b"\xff", b"[1]", b'{"rpe": NaN}', b'{"client_ref": "a", "client_ref": "b"}', b"null"]
    body = b"\n\n" + sound[0] + b"\n  \t \r\n" + b"\n".join(broken) + b"\r\n" + sound[1] + b"\n\n"
    answer = club.send("POST", "/v1/sets/batch", content=body, headers=NDJSON).json()
    assert outcomes(answer) == ["stored", *["invalid"] * 6, "stored"]
    assert [result["index"] for result in answer["results"]] == list(range(8))


def test_a_fault_in_one_item_of_an_array_leaves_its_neighbours_alone(club, make_set) -> None:
    club.athlete()
    items = [json.dumps(make_set()), '{"rpe": NaN}', '{"rpe": 1e999}', '{"a": 1, "a": 2}', json.dumps(make_set())]
    items.insert(3, json.dumps(make_set()).replace('"N"', '"\\ud800"'))
    body = ("[\n " + " ,\n ".join(items) + " \n] \n").encode()
    answer = club.send("POST", "/v1/sets/batch", content=body, headers=JSON).json()
    assert outcomes(answer) == ["stored", "invalid", "invalid", "invalid", "invalid", "stored"]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{}",
        b"null",
        b"[",
        b"[1",
        b"[1,",
        b"[1,]",
        b"[1 2]",
        b"[] x",
        b"[1] 2",
        b"\xff[]",
        b"[" * 100_000,
        b'"[]"',
    ],
)
def test_a_json_body_that_is_no_array_is_refused_whole(club, pointers, body) -> None:
    answer = club.send("POST", "/v1/sets/batch", content=body, headers=JSON)
    assert answer.status_code == 422
    assert pointers(answer.json()) == [""]


@pytest.mark.parametrize(("headers", "body"), [(JSON, b" [ ] "), (NDJSON, b""), (NDJSON, b"\n \n")])
def test_an_empty_batch_has_no_results(club, headers, body) -> None:
    answer = club.send("POST", "/v1/sets/batch", content=body, headers=headers)
    assert answer.json() == {"results": [], "counts": {"stored": 0, "seen": 0, "conflict": 0, "invalid": 0}}


def test_5000_sets_are_taken_and_one_more_is_refused_whole(club, make_set) -> None:
    club.athlete()
    documents = [make_set(performed_at="2026-09-14T10:00:00Z") for _ in range(5000)]
    answer = club.send("POST", "/v1/sets/batch", content=lines([*documents, make_set()]), headers=NDJSON)
    assert answer.status_code == 413
    assert club.items("/v1/athletes/MB-07/sets") == []
    assert club.batch([*documents, make_set()], 413)["code"] == "too-large"
    answer = club.send("POST", "/v1/sets/batch", content=lines(documents), headers=NDJSON)
    assert answer.json()["counts"]["stored"] == 5000


def test_32_mib_is_the_limit_before_and_after_decompression(club, make_set) -> None:
    club.athlete()
    limit = 32 * 2**20
    sound = lines([make_set()])

    def status_of(body: bytes, **headers: str) -> int:
        return club.send("POST", "/v1/sets/batch", content=body, headers=NDJSON | headers).status_code

    gzipped = {"Content-Encoding": "gzip"}
    assert status_of(sound.ljust(limit)) == 200
    assert status_of(sound.ljust(limit + 1)) == 413
    assert status_of(gzip.compress(sound.ljust(limit)), **gzipped) == 200
    assert status_of(gzip.compress(b" " * (limit + 1)), **gzipped) == 413
    two_members = gzip.compress(b" " * limit) + gzip.compress(b" ")
    assert status_of(two_members, **gzipped) == 413


def test_gzip_is_taken_in_several_members_and_refused_when_broken(club, make_set, pointers) -> None:
    club.athlete()
    headers = NDJSON | {"Content-Encoding": "gzip"}

    def send(body: bytes):
        return club.send("POST", "/v1/sets/batch", content=body, headers=headers)

    packed = gzip.compress(lines([make_set()]) + b"\n")
    assert send(packed + gzip.compress(lines([make_set()]))).json()["counts"]["stored"] == 2
    assert send(gzip.compress(b"")).json()["results"] == []
    corrupt = bytearray(gzip.compress(lines([make_set()])))
    corrupt[-6] ^= 1
    for broken in (packed[:-1], packed[:20], b"", b"plain", packed + b"rest", bytes(corrupt)):
        answer = send(broken)
        assert answer.status_code == 422
        assert pointers(answer.json()) == [""]


def test_an_item_over_its_own_limit_is_invalid(club, make_set) -> None:
    club.athlete()
    huge = lines([make_set()])[:-1] + b" " * (4 * 2**20) + b"}"
    larger_still = huge[:-1] + b" " * (4 * 2**20) + b"}"
    body = b"\n".join([huge, larger_still, lines([make_set()])])
    answer = club.send("POST", "/v1/sets/batch", content=body, headers=NDJSON).json()
    assert outcomes(answer) == ["invalid", "invalid", "stored"]
    assert [result["problem"]["status"] for result in answer["results"][:2]] == [413, 413]


def test_other_content_types_and_encodings_are_refused(club) -> None:
    for headers in ({"Content-Type": "text/csv"}, {"Content-Type": ""}, NDJSON | {"Content-Encoding": "zstd"}):
        assert club.send("POST", "/v1/sets/batch", content=b"[]", headers=headers).status_code == 415
