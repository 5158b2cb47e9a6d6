"""A store that is full, locked or gone: nothing is acknowledged that is not kept, and all goes on when it is back."""

import asyncio
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import httpx
import pytest
from inside import POSITION, Inside, is_problem
from odd import full_set
from postgres_cluster import PostgresCluster

from stillset_service.settings import Settings

Ask = tuple[str, str, object]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "trouble.db"


@pytest.fixture
def patient(file: Path) -> Iterator[Inside]:
    with Inside(Settings(database_url=f"sqlite:///{file}", busy_timeout_ms=2000)) as running:
        running.athlete("A-01")
        yield running


@pytest.fixture
def troubled(file: Path) -> Iterator[Inside]:
    with Inside(Settings(database_url=f"sqlite:///{file}", busy_timeout_ms=50)) as running:
        running.athlete("A-01")
        assert running.post("/v1/squads", {"ref": "first"}).status_code == 201
        yield running


@contextmanager
def _locked(file: Path) -> Iterator[None]:
    """Hold the lock of every writer, as another process would."""
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


@contextmanager
def _full(running: Inside) -> Iterator[None]:
    """Let the file grow no more, as on a full disk."""
    store = running.app.state.store
    with store.write() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")
    yield
    with store.write() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1000000000")


def _big(number: int) -> dict[str, object]:
    return full_set(
        client_ref=f"big-{number}", note="x" * 2000, performed_at=f"2026-09-{number % 28 + 1:02d}T10:00:00Z"
    )


def _writes(set_id: str) -> list[Ask]:
    return [
        ("POST", "/v1/sets", _big(0)),
        ("POST", "/v1/sets/batch", [_big(number) for number in range(300)]),
        ("POST", f"/v1/sets/{set_id}/amend", {"reason": "mistyped", "changes": {"note": "short"}}),
        ("POST", f"/v1/sets/{set_id}/withdraw", {"reason": "mistyped"}),
        ("POST", "/v1/athletes", {"ref": "A-02"}),
        ("PATCH", "/v1/athletes/A-01", {"name": "Other"}),
        ("PUT", "/v1/athletes/A-01/standard-position", POSITION),
        ("POST", "/v1/athletes/A-01/periods", {"kind": "break", "from": "2026-01-01"}),
        ("POST", "/v1/squads", {"ref": "second"}),
        ("PATCH", "/v1/squads/first", {"name": "Other"}),
        ("PUT", "/v1/protocol", {}),
        ("POST", "/v1/keys", {"name": "other", "scopes": ["read"]}),
        ("DELETE", "/v1/athletes/A-01", None),
    ]


def test_every_write_to_a_locked_store_is_told_to_come_back_and_changes_nothing(troubled: Inside, file: Path) -> None:
    set_id = troubled.post("/v1/sets", full_set()).json()["id"]
    before = troubled.stored()
    with _locked(file):
        for method, path, body in _writes(set_id):
            answer = troubled.ask(method, path, json=body)
            problem = is_problem(answer, 503)
            assert problem["code"] == "store-unavailable", (method, path)
            assert int(answer.headers["retry-after"]) > 0
        assert troubled.get("/v1/athletes/A-01/trend").status_code == 200
        assert troubled.get("/readyz").status_code == 200
    assert troubled.stored() == before
    for method, path, body in _writes(set_id):
        assert troubled.ask(method, path, json=body).status_code < 300, (method, path)


def test_a_locked_store_keeps_waiting_only_those_who_write(patient: Inside, file: Path) -> None:
    order: list[str] = []

    async def note(name: str, answer: object) -> httpx.Response:
        got = await answer  # type: ignore[misc]
        order.append(name)
        return got

    async def both(client: httpx.AsyncClient) -> list[httpx.Response]:
        writing = asyncio.ensure_future(note("write", client.post("/v1/sets", json=_big(1))))
        await asyncio.sleep(0)
        reading = [note("read", client.get(path)) for path in ("/healthz", "/v1/athletes/A-01")]
        return [*await asyncio.gather(*reading), await writing]

    with _locked(file):
        *read, written = patient.run(both)
    assert [answer.status_code for answer in read] == [200, 200]
    is_problem(written, 503)
    assert order == ["read", "read", "write"]


def test_a_full_store_says_so_keeps_what_it_has_and_goes_on_with_room(troubled: Inside) -> None:
    kept = [_big(number) for number in range(1000, 1020)]
    assert troubled.post("/v1/sets/batch", kept).json()["counts"]["stored"] == 20
    trend = troubled.get("/v1/athletes/A-01/trend").content
    before = troubled.stored()
    with _full(troubled):
        answer = troubled.post("/v1/sets/batch", [_big(number) for number in range(300)])
        assert is_problem(answer, 507)["code"] == "store-full"
        assert troubled.stored() == before
        acknowledged = []
        for number in range(300):
            answer = troubled.post("/v1/sets", _big(number))
            if answer.status_code == 201:
                acknowledged.append(answer.json()["id"])
                continue
            is_problem(answer, 507)
            break
        else:
            pytest.fail("The store was never full.")
        for document in kept:
            assert troubled.post("/v1/sets", document).status_code == 200
        assert troubled.stored()["stored_set"] == before["stored_set"] + len(acknowledged)
        for set_id in acknowledged:
            assert troubled.get(f"/v1/sets/{set_id}").status_code == 200
        assert troubled.get("/v1/athletes/A-01/trend").status_code == 200
        if not acknowledged:
            assert troubled.get("/v1/athletes/A-01/trend").content == trend
    answer = troubled.post("/v1/sets/batch", [_big(number) for number in range(300)])
    assert answer.json()["counts"] == {
        "stored": 300 - len(acknowledged),
        "seen": len(acknowledged),
        "conflict": 0,
        "invalid": 0,
    }


def test_one_that_does_not_fit_spoils_no_other_of_the_same_commit(troubled: Inside) -> None:
    with _full(troubled):
        requests: list[tuple[str, str, dict[str, object]]] = [
            ("POST", "/v1/sets/batch", {"json": [_big(number) for number in range(300)]}),
            ("POST", "/v1/sets", {"json": full_set(client_ref="known", athlete="nobody")}),
            ("POST", "/v1/sets/batch", {"json": []}),
        ]
        large, unknown, empty = troubled.ask_at_once(requests)
    is_problem(large, 507)
    is_problem(unknown, 422)
    assert empty.status_code == 200
    assert troubled.get("/v1/athletes/A-01/sets").json()["items"] == []


def test_a_database_that_goes_away_and_comes_back_is_503_and_then_fine(postgres: PostgresCluster) -> None:
    with Inside(Settings(database_url=postgres.new_database("goes_away"))) as running:
        running.athlete("A-01")
        assert running.post("/v1/sets", full_set()).status_code == 201
        postgres.stop_serving()
        try:
            for path in ("/v1/athletes/A-01/trend", "/readyz", "/v1/athletes/A-01"):
                is_problem(running.get(path), 503)
            for document in (full_set(), full_set(client_ref="other")):
                answer = running.post("/v1/sets", document)
                assert int(answer.headers["retry-after"]) > 0
                is_problem(answer, 503)
            assert running.get("/healthz").status_code == 200
        finally:
            postgres.serve()
        assert running.post("/v1/sets", full_set()).status_code == 200
        assert running.post("/v1/sets", full_set(client_ref="other")).status_code == 201
        assert running.get("/readyz").status_code == 200
