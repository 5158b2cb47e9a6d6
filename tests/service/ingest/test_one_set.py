"""One set: stored once, retried, refused, tried dry."""

import asyncio
import gzip
import json

import pytest

from stillset_service.ingest import take_in

JSON = {"Content-Type": "application/json"}


def test_a_new_set_answers_201_with_the_judged_set(club, make_set, make_rep) -> None:
    club.athlete()
    document = make_set(reps=[make_rep(), make_rep("spread", hold_s=2.1)])
    answer = club.post_set(document)
    assert list(answer) == ["id", "client_ref", "athlete", "performed_at", "standings", "load"]
    assert answer["performed_at"] == document["performed_at"]
    assert [standing["standing"] for standing in answer["standings"]] == ["counts", "set_aside"]
    assert answer["standings"][1]["reading"] is None
    assert answer["load"] == {"reps": 2, "hold_s": 7.1, "impulse_n_s": pytest.approx((5 + 2.1) * 590)}


def test_a_retry_answers_with_the_very_bytes_of_the_first_answer(club, make_set) -> None:
    club.athlete()
    document = make_set()
    first = club.send("POST", "/v1/sets", json=document)
    club.put("/v1/protocol", {"min_hold_s": 6})
    club.post_set(make_set(performed_at="2026-09-14T15:00:00Z"))
    again = club.send("POST", "/v1/sets", json=document)
    assert (again.status_code, again.content) == (200, first.content)
    now = club.get(f"/v1/sets/{first.json()['id']}")
    assert now["standings"][0]["standing"] == "set_aside"


def test_other_content_is_a_conflict_that_names_what_differs(club, make_set, make_rep, pointers) -> None:
    club.athlete()
    document = make_set(rpe=8, reps=[make_rep(), make_rep("spread")])
    club.post_set(document)
    changed = document | {"rpe": 9, "note": "new", "reps": [make_rep(), make_rep("spread", left=301)]}
    problem = club.post_set(changed, 409)
    assert sorted(pointers(problem)) == ["/note", "/reps/1/left/peak", "/rpe"]
    assert len(club.items("/v1/athletes/MB-07/sets")) == 1


def test_ref_and_id_name_the_same_athlete_and_another_athlete_is_other_content(club, make_set, pointers) -> None:
    club.athlete()
    club.athlete("MB-08")
    document = make_set()
    first = club.post_set(document)
    own_id = club.get("/v1/athletes/MB-07")["id"]
    assert club.post_set(document | {"athlete": own_id}, 200) == first
    assert first["athlete"] == "MB-07"
    assert pointers(club.post_set(document | {"athlete": "MB-08"}, 409)) == ["/athlete"]


def test_an_athlete_may_be_named_by_id_from_the_start(club, make_set) -> None:
    club.athlete()
    answer = club.post_set(make_set(club.get("/v1/athletes/MB-07")["id"]))
    assert answer["athlete"] == "MB-07"
    (row,) = club.items("/v1/athletes/MB-07/sets")
    assert row["id"] == answer["id"]


def test_a_ref_is_tried_before_an_id(club, make_set) -> None:
    club.athlete("MB-07")
    other_id = club.get("/v1/athletes/MB-07")["id"]
    club.athlete(other_id)
    assert club.post_set(make_set(other_id))["athlete"] == other_id
    assert club.items("/v1/athletes/MB-07/sets") == []


def test_refs_are_case_sensitive(club, make_set) -> None:
    club.athlete("mb-07")
    assert club.post_set(make_set("MB-07"), 422)["code"] == "unknown-athlete"


def test_an_unknown_athlete_is_named_in_the_problem_and_its_error(club, make_set) -> None:
    problem = club.post_set(make_set("nobody"), 422)
    assert problem["code"] == "unknown-athlete"
    assert [(error["pointer"], error["code"]) for error in problem["errors"]] == [("/athlete", "unknown-athlete")]


def test_a_dry_run_answers_as_the_real_request_and_stores_nothing(club, make_set, pointers) -> None:
    club.athlete()
    document = make_set()
    dry = club.post("/v1/sets?dry_run=true", document, 200)
    assert dry["id"] is None
    assert club.items("/v1/athletes/MB-07/sets") == []
    real = club.post("/v1/sets?dry_run=false", document, 201)
    assert dry | {"id": real["id"]} == real
    assert club.post("/v1/sets?dry_run=true", document, 200) == real
    assert pointers(club.post("/v1/sets?dry_run=true", document | {"rpe": 1}, 409)) == ["/rpe"]
    assert club.post("/v1/sets?dry_run=true", make_set("nobody"), 422)["code"] == "unknown-athlete"


def test_a_dry_run_leaves_no_mark_on_later_judging(club, make_set, make_rep) -> None:
    club.athlete()
    tiring = make_set(performed_at="2026-09-14T15:00:00Z", reps=[make_rep(hold_s=95)])
    club.post("/v1/sets?dry_run=true", tiring, 200)
    later = club.post_set(make_set(performed_at="2026-09-14T15:30:00Z"))
    assert later["standings"][0]["standing"] == "counts"


def test_the_same_client_ref_belongs_to_each_club_alone(club, service, make_set) -> None:
    club.athlete()
    document = make_set()
    first = club.post_set(document)
    other = service.club()
    other.athlete()
    assert other.post_set(document)["id"] != first["id"]
    other.get(f"/v1/sets/{first['id']}", 404)
    service.runner.run(other.client.aclose())


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("dry_run=maybe", "dry_run"),
        ("dry_run=", "dry_run"),
        ("dry_run=TRUE", "dry_run"),
        ("dry_run=true&dry_run=true", "dry_run"),
        ("dryrun=true", "dryrun"),
        ("dry_run=true&x=1", "x"),
    ],
)
@pytest.mark.parametrize("path", ["/v1/sets", "/v1/sets/batch"])
def test_unclear_and_unknown_query_parameters_are_refused(club, make_set, pointers, path, query, parameter) -> None:
    problem = club.post(f"{path}?{query}", make_set(), 422)
    assert pointers(problem) == [f"?{parameter}"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Content-Type": "text/plain"}, 415),
        ({"Content-Type": "application/x-ndjson"}, 415),
        ({"Content-Type": ""}, 415),
        ({"Content-Type": "application/json; charset=latin-1"}, 415),
        ({"Content-Type": "application/json", "Content-Encoding": "br"}, 415),
        ({"Content-Type": "application/json", "Content-Encoding": "gzip"}, 422),
        ({"Content-Type": "Application/JSON; charset=UTF-8"}, 201),
        ({"Content-Type": "application/json", "Content-Encoding": "identity"}, 201),
    ],
)
def test_content_type_and_encoding_are_checked(club, make_set, headers, status) -> None:
    club.athlete()
    answer = club.send("POST", "/v1/sets", content=json.dumps(make_set()).encode(), headers=headers)
    assert answer.status_code == status, answer.text
    if status != 201:
        assert answer.headers["content-type"] == "application/problem+json"


def test_a_gzipped_set_is_taken(club, make_set) -> None:
    club.athlete()
    body = gzip.compress(json.dumps(make_set()).encode())
    assert club.send("POST", "/v1/sets", content=body, headers=JSON | {"Content-Encoding": "gzip"}).status_code == 201


def test_a_set_may_have_4_mib_without_a_trace_and_8_with(club, make_set) -> None:
    club.athlete()
    four, eight = 4 * 2**20, 8 * 2**20
    plain = json.dumps(make_set()).encode()
    trace = json.dumps(make_set(reps=..., trace={"rate_hz": 50, "left": [0.5, 1.5] * 50})).encode()

    def status_at(body: bytes, size: int) -> int:
        return club.send("POST", "/v1/sets?dry_run=true", content=body.ljust(size), headers=JSON).status_code

    assert status_at(plain, four) == 200
    assert status_at(plain, four + 1) == 413
    assert status_at(trace, eight) == 200
    assert status_at(trace, eight + 1) == 413
    # The word alone is no trace.
    assert status_at(json.dumps(make_set(note='"trace"')).encode(), four + 1) == 413


def test_a_body_in_pieces_is_bounded_without_a_stated_length(club) -> None:
    async def endless():
        for _ in range(9 * 16):
            yield b" " * 2**16

    answer = club.send("POST", "/v1/sets", content=endless(), headers=JSON)
    assert answer.status_code == 413


def test_posts_at_the_same_time_are_stored_once_each(club, service, make_set) -> None:
    for number in range(5):
        club.athlete(f"A-{number}")
    documents = [make_set(f"A-{number % 5}") for number in range(40)]

    async def all_twice() -> list[int]:
        answers = await asyncio.gather(
            *(club.client.post("/v1/sets", json=document) for document in [*documents, *documents])
        )
        return sorted(answer.status_code for answer in answers)

    assert service.runner.run(all_twice()) == [200] * 40 + [201] * 40
    stored = [row["client_ref"] for number in range(5) for row in club.items(f"/v1/athletes/A-{number}/sets")]
    assert sorted(stored) == sorted(document["client_ref"] for document in documents)


def test_one_request_that_fails_does_not_spoil_those_that_share_its_commit(
    club, service, make_set, monkeypatch
) -> None:
    club.athlete()
    honest = take_in.judged_answer
    poisoned = make_set(note="poison")

    def judge(set_id, performed_at, record, *rest):
        if record.note == "poison":
            raise ZeroDivisionError
        return honest(set_id, performed_at, record, *rest)

    monkeypatch.setattr(take_in, "judged_answer", judge)
    documents = [make_set(), poisoned, make_set()]

    async def together() -> list[int]:
        answers = await asyncio.gather(*(club.client.post("/v1/sets", json=document) for document in documents))
        return [answer.status_code for answer in answers]

    assert service.runner.run(together()) == [201, 500, 201]
    monkeypatch.undo()
    assert club.post_set(poisoned)["client_ref"] == poisoned["client_ref"]


def test_a_set_reads_back_as_it_was_sent(club, make_set, make_rep) -> None:
    club.athlete()
    document = make_set(
        unit="lbf", reps=[make_rep(left=70.25, right=71)], note="ünïcode 🙂 e\u0301", rpe=None, purpose="test"
    )
    made = club.post_set(document)
    row = club.get(f"/v1/sets/{made['id']}")
    assert {name: row[name] for name in document} == document
    assert {name: row[name] for name in ("id", "standings", "load")} == {
        name: made[name] for name in ("id", "standings", "load")
    }
    assert row["status"] == "active"
    assert row["received_at"].endswith("Z")


def test_a_set_with_a_trace_reads_back_sample_by_sample(club, make_set) -> None:
    club.athlete()
    samples = [2.0] * 500 + [302.5] * 1000 + [None] + [2.0] * 500
    document = make_set(reps=..., trace={"rate_hz": 200, "left": samples, "right": samples})
    made = club.post_set(document)
    assert club.get(f"/v1/sets/{made['id']}")["trace"] == document["trace"]
    assert made["load"]["reps"] == 1
