"""A club with one squad, spoken to over HTTP in this process."""

import asyncio
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.settings import Settings

Document = dict[str, object]
FIRST = datetime(2026, 3, 2, 17, tzinfo=UTC)
POSITION = {"name": "supine-bent-knee", "knee_angle_deg": 60}


class Api:
    """Speaks to one application as one client, in plain calls."""

    def __init__(self, database: Path) -> None:
        self.app = create_app(Settings(database_url=f"sqlite:///{database}"))
        key = create_key(self.app.state.store, "club", "test", list(Scope))
        self._runner = asyncio.Runner()
        self._lifespan = self.app.router.lifespan_context(self.app)
        self._runner.run(self._lifespan.__aenter__())
        self._client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app=self.app),
            base_url="http://club.example",
            headers={"Authorization": f"Bearer {key}"},
        )

    def close(self) -> None:
        self._runner.run(self._client.aclose())
        self._runner.run(self._lifespan.__aexit__(None, None, None))
        self._runner.close()

    def send(self, method: str, path: str, **options: object) -> httpx.Response:
        return self._runner.run(self._client.request(method, path, **options))

    def get(self, path: str, **headers: str) -> httpx.Response:
        return self.send("GET", path, headers={name.replace("_", "-"): value for name, value in headers.items()})

    def items(self, path: str) -> list[Document]:
        answer = self.get(path)
        assert answer.status_code == 200, answer.text
        return answer.json()["items"]

    def post(self, *documents: Mapping[str, object]) -> None:
        answer = self.send("POST", "/v1/sets/batch", json=list(documents))
        assert answer.json()["counts"]["stored"] == len(documents), answer.text

    def make_athlete(self, ref: str = "MB-07", **facts: object) -> None:
        made = self.send(
            "POST", "/v1/athletes", json={"ref": ref, "name": f"Odd {ref}", "squad": "first-team", **facts}
        )
        assert made.status_code == 201, made.text
        standard = {"position": POSITION, "instrument_kind": "fixed-frame", "valid_from": "2026-01-01"}
        put = self.send("PUT", f"/v1/athletes/{ref}/standard-position", json=standard)
        assert put.status_code == 200, put.text


def a_set(number: int, *, at: datetime | None = None, athlete: str = "MB-07", **members: object) -> Document:
    """Write a set that counts in both directions, two days after the one of the number before."""
    return {
        "client_ref": f"set-{number:03d}",
        "athlete": athlete,
        "performed_at": (at or FIRST + timedelta(days=2 * number)).isoformat(),
        "position": POSITION,
        "instrument": {"kind": "fixed-frame", "serial": "F-01"},
        "unit": "N",
        "intended_percent": 100,
        "reps": [
            {
                "direction": "squeeze",
                "hold_s": 5,
                "left": {"peak": 300 + number % 7},
                "right": {"peak": 290 + number % 5},
            },
            {
                "direction": "spread",
                "hold_s": 5,
                "left": {"peak": 270 + number % 6},
                "right": {"peak": 280 + number % 4},
            },
        ],
        **members,
    }


@pytest.fixture(scope="session")
def set_of() -> Callable[..., Document]:
    return a_set


def makers(folder: Path) -> Iterator[Callable[[], Api]]:
    """Give a maker of applications, each over a store of its own with one squad."""
    made: list[Api] = []

    def make() -> Api:
        api = Api(folder / f"club-{len(made)}.db")
        made.append(api)
        squad = api.send("POST", "/v1/squads", json={"ref": "first-team", "name": "First team"})
        assert squad.status_code == 201, squad.text
        return api

    yield make
    for api in made:
        api.close()


@pytest.fixture
def make_api(tmp_path: Path) -> Iterator[Callable[[], Api]]:
    yield from makers(tmp_path)


@pytest.fixture
def api(make_api: Callable[[], Api]) -> Api:
    """Give a club with one athlete who has no sets yet."""
    made = make_api()
    made.make_athlete()
    return made


@pytest.fixture(scope="module")
def shared_api(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Api]:
    """Give the same to all tests of a module, which only read after the first filling."""
    for make in makers(tmp_path_factory.mktemp("shared")):
        made = make()
        made.make_athlete()
        yield made
