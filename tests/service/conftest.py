"""A service on each kind of store, and clubs of their own for tests that cannot see one another."""

import asyncio
import itertools
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import httpx
import pytest
from postgres_cluster import PostgresCluster, postgres
from sqlalchemy import event

from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.settings import Settings
from stillset_service.store.engine import Store

__all__ = ["postgres"]

Document = dict[str, object]
SUPINE = {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34, "foot_mark": "C"}
_numbers = itertools.count(1)


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def new_store_address(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Callable[[], str]:
    """Give a maker of addresses of empty stores, of each kind in turn."""
    if request.param == "sqlite":
        return lambda: f"sqlite:///{tmp_path_factory.mktemp('store') / 'stillset.db'}"
    cluster: PostgresCluster = request.getfixturevalue("postgres")
    return lambda: cluster.new_database(f"stillset_{next(_numbers)}")


class Service:
    """One application in this process, with a loop of its own."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.app = create_app(settings)
        self.store = self.app.state.store
        self.runner = asyncio.Runner()
        self._lifespan = self.app.router.lifespan_context(self.app)
        self.runner.run(self._lifespan.__aenter__())

    def close(self) -> None:
        self.runner.run(self._lifespan.__aexit__(None, None, None))
        self.runner.close()

    def client(self, key: str | None) -> httpx.AsyncClient:
        headers = {} if key is None else {"Authorization": f"Bearer {key}"}
        transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
        return httpx.AsyncClient(transport=transport, base_url="http://club.example", headers=headers)

    def club(self, *scopes: Scope) -> "Club":
        return Club(self, f"club-{next(_numbers)}", scopes or tuple(Scope))


class Club:
    """A club with a key of its own, spoken to in plain calls."""

    def __init__(self, service: Service, slug: str, scopes: tuple[Scope, ...]) -> None:
        self.service = service
        self.slug = slug
        self.key = create_key(service.store, slug, "test", scopes)
        self.client = service.client(self.key)

    def send(self, method: str, path: str, **options: object) -> httpx.Response:
        return self.service.runner.run(self.client.request(method, path, **options))

    def get(self, path: str, status: int = 200) -> dict[str, object]:
        answer = self.send("GET", path)
        assert answer.status_code == status, answer.text
        return answer.json()

    def items(self, path: str) -> list[Document]:
        return self.get(path)["items"]

    def post(self, path: str, body: object, status: int) -> dict[str, object]:
        answer = self.send("POST", path, json=body)
        assert answer.status_code == status, answer.text
        return answer.json()

    def put(self, path: str, body: object, status: int = 200) -> dict[str, object]:
        answer = self.send("PUT", path, json=body)
        assert answer.status_code == status, answer.text
        return answer.json()

    def post_set(self, document: Mapping[str, object], status: int = 201) -> dict[str, object]:
        return self.post("/v1/sets", document, status)

    def batch(self, documents: object, status: int = 200, query: str = "") -> dict[str, object]:
        return self.post(f"/v1/sets/batch{query}", documents, status)

    def athlete(self, ref: str = "MB-07", *, position: bool = True, **facts: object) -> str:
        self.post("/v1/athletes", {"ref": ref, "name": f"Odd {ref}", **facts}, 201)
        if position:
            self.position(ref)
        return ref

    def position(self, ref: str = "MB-07", valid_from: str = "2020-01-01", **changes: object) -> dict[str, object]:
        entry = {"position": SUPINE, "instrument_kind": "fixed-frame", "valid_from": valid_from} | changes
        return self.put(f"/v1/athletes/{ref}/standard-position", entry)

    def with_scopes(self, *scopes: Scope) -> "Club":
        return Club(self.service, self.slug, scopes)


@pytest.fixture(scope="session")
def service(new_store_address: Callable[[], str]) -> Iterator[Service]:
    running = Service(Settings(database_url=new_store_address(), key_cache_s=0))
    yield running
    running.close()


@pytest.fixture
def club(service: Service) -> Iterator[Club]:
    made = service.club()
    yield made
    service.runner.run(made.client.aclose())


@pytest.fixture
def own_service(new_store_address: Callable[[], str]) -> Iterator[Service]:
    """Give a service over a store of its own."""
    running = Service(Settings(database_url=new_store_address(), key_cache_s=0, busy_timeout_ms=10))
    yield running
    running.close()


@pytest.fixture
def own_club(own_service: Service) -> Iterator[Club]:
    made = own_service.club()
    yield made
    own_service.runner.run(made.client.aclose())


@pytest.fixture
def sqlite_club(tmp_path: Path) -> Iterator[Club]:
    """Give the only club of a service over a file of SQLite, for what is true of SQLite alone."""
    running = Service(Settings(database_url=f"sqlite:///{tmp_path / 'own.db'}", key_cache_s=0, busy_timeout_ms=10))
    made = running.club()
    yield made
    running.runner.run(made.client.aclose())
    running.close()


@pytest.fixture(scope="session")
def failing_commits() -> Callable[[Store, Exception], AbstractContextManager[None]]:
    """Let every commit of a store fail for a while, whoever asks for it."""

    @contextmanager
    def failing(store: Store, error: Exception) -> Iterator[None]:
        def fail(_connection: object) -> None:
            raise error

        event.listen(store._writer, "commit", fail)
        yield
        event.remove(store._writer, "commit", fail)

    return failing


def a_rep(
    direction: str = "squeeze", hold_s: float = 5, left: object = 300, right: object = 290, **more: object
) -> Document:
    sides = {name: {"peak": peak} for name, peak in (("left", left), ("right", right)) if peak is not None}
    return {"direction": direction, "hold_s": hold_s, **sides, **more}


def a_set(athlete: str = "MB-07", **changes: object) -> Document:
    """Write a set that counts, with a client_ref of its own; a change to ``...`` leaves the member out."""
    document = {
        "client_ref": f"set-{next(_numbers)}",
        "athlete": athlete,
        "performed_at": "2026-09-14T17:32:05+02:00",
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60},
        "instrument": {"kind": "fixed-frame"},
        "unit": "N",
        "intended_percent": 100,
        "reps": [a_rep()],
    } | changes
    return {name: value for name, value in document.items() if value is not ...}


@pytest.fixture(scope="session")
def make_set() -> Callable[..., Document]:
    return a_set


@pytest.fixture(scope="session")
def make_rep() -> Callable[..., Document]:
    return a_rep


@pytest.fixture(scope="session")
def pointers() -> Callable[[Mapping[str, object]], list[str]]:
    """Give what the errors of a problem point at, query parameters behind a question mark."""

    def of(problem: Mapping[str, object]) -> list[str]:
        return [error.get("pointer", f"?{error.get('parameter')}") for error in problem["errors"]]

    return of
