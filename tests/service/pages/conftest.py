"""One application over an empty store, visited in this process as a browser would."""

import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.settings import Settings

ORIGIN = "http://club.example"


class Visitor:
    """Somebody at the pages, with a jar of cookies and no key unless one is given."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        self._runner = asyncio.Runner()
        self.client = httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url=ORIGIN)

    def close(self) -> None:
        self._runner.run(self.client.aclose())
        self._runner.close()

    def send(self, method: str, path: str, **options: object) -> httpx.Response:
        return self._runner.run(self.client.request(method, path, **options))

    def get(self, path: str, **options: object) -> httpx.Response:
        return self.send("GET", path, **options)

    def sign_in(self, key: str, **options: object) -> httpx.Response:
        return self.send("POST", "/login", data={"key": key, **options})


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'pages.db'}"))
    somebody = Visitor(app)
    yield somebody
    somebody.close()
    app.state.store.close()


@pytest.fixture
def new_key(visitor: Visitor) -> Callable[..., str]:
    return lambda *scopes: create_key(visitor.app.state.store, "club", "page test", scopes or (Scope.READ,))
