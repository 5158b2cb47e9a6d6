"""Alive, ready, and counted."""

import asyncio
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.settings import Settings


@pytest.fixture
def app(tmp_path: Path) -> Iterator[FastAPI]:
    made = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'club.db'}"))
    yield made
    made.state.store.close()


def ask(
    app: FastAPI, questions: Callable[[httpx.AsyncClient], Awaitable[list[httpx.Response]]]
) -> list[httpx.Response]:
    async def answers() -> list[httpx.Response]:
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://club.example") as client:
            return await questions(client)

    return asyncio.run(answers())


def test_a_service_with_its_store_is_alive_and_ready_without_a_key(app: FastAPI) -> None:
    async def questions(client: httpx.AsyncClient) -> list[httpx.Response]:
        return [await client.get("/healthz"), await client.get("/readyz")]

    alive, ready = ask(app, questions)
    assert (alive.status_code, alive.json()) == (200, {"status": "ok"})
    assert (ready.status_code, ready.json()["store"]) == (200, "ok")


def test_a_service_without_its_store_is_alive_but_not_ready(tmp_path: Path, app: FastAPI) -> None:
    app.state.store.close()
    for file in tmp_path.iterdir():
        file.unlink()
    tmp_path.rmdir()

    async def questions(client: httpx.AsyncClient) -> list[httpx.Response]:
        return [await client.get("/healthz"), await client.get("/readyz")]

    alive, ready = ask(app, questions)
    assert alive.status_code == 200
    assert ready.status_code == 503
    assert ready.headers["Retry-After"]
    assert ready.headers["Content-Type"] == "application/problem+json"


def test_requests_are_counted_by_route_and_sets_by_outcome(app: FastAPI) -> None:
    key = create_key(app.state.store, "club", "test", list(Scope))

    async def questions(client: httpx.AsyncClient) -> list[httpx.Response]:
        client.headers["Authorization"] = f"Bearer {key}"
        for ref in ("MB-07", "MB-08"):
            await client.get(f"/v1/athletes/{ref}/sets")
        await client.get("/nowhere/at/all")
        await client.post("/v1/sets", json={"client_ref": "a"})
        await client.post("/v1/sets/batch", json=[{}, {"client_ref": "a"}])
        return [await client.get("/metrics")]

    (counted,) = ask(app, questions)
    assert counted.headers["Content-Type"].startswith("text/plain")
    lines = counted.text.splitlines()
    assert 'stillset_requests_total{method="GET",route="/v1/athletes/{ref}/sets",status="404"} 2.0' in lines
    assert 'stillset_sets_total{outcome="invalid"} 3.0' in lines
    assert "MB-07" not in counted.text
    assert "nowhere" not in counted.text
