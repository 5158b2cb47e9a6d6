"""Every refusal is a problem of RFC 9457, and no fault of the store acknowledges anything."""

import sqlite3

import psycopg
import pytest
from sqlalchemy.exc import IntegrityError, OperationalError

from stillset_core.errors import Fault
from stillset_service.api.problems import problem_of
from stillset_service.problems import Unprocessable


def assert_problem(answer, status: int) -> dict[str, object]:
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    problem = answer.json()
    assert list(problem) == ["type", "title", "status", "code", "detail", "errors"]
    assert problem["status"] == status
    assert all(
        set(error) in ({"pointer", "code", "detail"}, {"parameter", "code", "detail"}) for error in problem["errors"]
    )
    return problem


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/v1/nowhere", 404),
        ("GET", "/nowhere", 404),
        ("GET", "/v1/athletes/nobody", 404),
        ("GET", "/v1/sets/nothing", 404),
        ("DELETE", "/v1/sets", 405),
        ("PUT", "/v1/athletes", 405),
        ("POST", "/v1/protocol", 405),
        ("PATCH", "/healthz", 405),
        ("GET", "/v1/athletes?limit=x", 422),
    ],
)
def test_refusals_of_every_kind_are_problems(club, method, path, status) -> None:
    answer = club.send(method, path)
    assert_problem(answer, status)
    if status == 405:
        assert answer.headers["allow"]


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        ("/v1/squads", "GET, HEAD, POST"),
        ("/v1/squads/first-team", "GET, HEAD, PATCH"),
        ("/v1/protocol", "GET, HEAD, PUT"),
    ],
)
def test_a_method_that_is_not_allowed_is_told_all_that_are(club, path, allowed) -> None:
    assert club.send("DELETE", path).headers["Allow"] == allowed


def test_at_most_100_errors_are_named(club, make_set, make_rep) -> None:
    club.athlete()
    wrong = make_set(**{f"member-{number}": number for number in range(200)})
    assert len(assert_problem(club.send("POST", "/v1/sets", json=wrong), 422)["errors"]) == 100
    faults = [Fault(f"/{number}", "x", "x") for number in range(200)]
    assert len(Unprocessable("x", faults).body()["errors"]) == 100


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [
        (OperationalError("", {}, sqlite3.OperationalError("database or disk is full")), 507, "store-full"),
        (OperationalError("", {}, sqlite3.OperationalError("database is locked")), 503, "store-unavailable"),
        (OperationalError("", {}, sqlite3.OperationalError("disk I/O error")), 503, "store-unavailable"),
        (OperationalError("", {}, sqlite3.OperationalError("unable to open database file")), 503, "store-unavailable"),
        (OperationalError("", {}, psycopg.errors.DiskFull("no space")), 507, "store-full"),
        (OperationalError("", {}, psycopg.OperationalError("connection refused")), 503, "store-unavailable"),
        (IntegrityError("", {}, sqlite3.IntegrityError("x")), 500, "internal"),
        (ZeroDivisionError("secret"), 500, "internal"),
    ],
)
def test_faults_of_the_store_are_told_apart(error, status, code) -> None:
    problem = problem_of(error)
    assert (problem.status, problem.code) == (status, code)
    assert ("Retry-After" in problem.headers) is (status == 503)
    assert "secret" not in str(problem.body())


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (sqlite3.OperationalError("database or disk is full"), 507),
        (sqlite3.OperationalError("database is locked"), 503),
    ],
)
def test_nothing_is_acknowledged_when_the_commit_fails(own_club, make_set, failing_commits, error, status) -> None:
    club, store = own_club, own_club.service.store
    club.athlete()
    document = make_set()
    with failing_commits(store, OperationalError("COMMIT", {}, error)):
        for path, body in (("/v1/sets", document), ("/v1/sets/batch", [document]), ("/v1/athletes", {"ref": "new"})):
            answer = club.send("POST", path, json=body)
            assert_problem(answer, status)
            assert ("retry-after" in answer.headers) is (status == 503)
    assert club.items("/v1/athletes/MB-07/sets") == []
    assert [row["ref"] for row in club.items("/v1/athletes")] == ["MB-07"]
    assert club.post_set(document)["standings"][0]["standing"] == "counts"
    assert len(club.items("/v1/athletes/MB-07/readings")) == 1


def test_a_store_that_another_process_keeps_locked_is_503(sqlite_club, make_set) -> None:
    club = sqlite_club
    club.athlete()
    document = make_set()
    other = sqlite3.connect(club.service.settings.database_url.removeprefix("sqlite:///"), isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    answer = club.send("POST", "/v1/sets", json=document)
    assert_problem(answer, 503)
    assert answer.headers["retry-after"]
    assert club.items("/v1/athletes/MB-07/sets") == []
    other.execute("ROLLBACK")
    other.close()
    assert club.post_set(document)


def test_a_full_disk_is_507_and_what_is_stored_can_still_be_read(sqlite_club, make_set) -> None:
    club = sqlite_club
    club.athlete()
    club.post_set(make_set())
    with club.service.store.write() as connection:
        size = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count={size}")
    documents = [make_set(note="x" * 2000) for _ in range(200)]
    assert_problem(club.send("POST", "/v1/sets/batch", json=documents), 507)
    assert len(club.items("/v1/athletes/MB-07/sets")) == 1
