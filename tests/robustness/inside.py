"""The service in this process, asked through its ASGI door by plain calls."""

import asyncio
import json
from collections.abc import Callable, Coroutine, Iterable
from types import TracebackType
from typing import Self

import httpx
import sqlalchemy
from fastapi import FastAPI

from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.settings import Settings

POSITION = {
    "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34},
    "instrument_kind": "fixed-frame",
    "valid_from": "2020-01-01",
}


class Inside:
    """One application on one database, with a key that may do everything, on an event loop of its own.

    An exception that the application does not turn into an answer is raised here, with its trace.
    """

    def __init__(self, settings: Settings) -> None:
        self.app: FastAPI = create_app(settings)
        self.key = create_key(self.app.state.store, "club", "robust", Scope)
        self._runner = asyncio.Runner()
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=True)
        self._client = httpx.AsyncClient(
            transport=transport, base_url="http://inside", headers={"Authorization": f"Bearer {self.key}"}
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def key_of(self, club: str) -> dict[str, str]:
        """Make a key of a club of its own, and give the header that says so."""
        return {"Authorization": f"Bearer {create_key(self.app.state.store, club, 'robust', Scope)}"}

    def ask(self, method: str, path: str, **more: object) -> httpx.Response:
        return self._runner.run(self._client.request(method, path, **more))

    def run(
        self, work: Callable[[httpx.AsyncClient], Coroutine[None, None, list[httpx.Response]]]
    ) -> list[httpx.Response]:
        return self._runner.run(work(self._client))

    def ask_at_once(self, requests: Iterable[tuple[str, str, dict[str, object]]]) -> list[httpx.Response]:
        async def all_of_them() -> list[httpx.Response]:
            return await asyncio.gather(
                *(self._client.request(method, path, **more) for method, path, more in requests)
            )

        return self._runner.run(all_of_them())

    def get(self, path: str, **more: object) -> httpx.Response:
        return self.ask("GET", path, **more)

    def post(self, path: str, document: object) -> httpx.Response:
        return self.ask("POST", path, json=document)

    def send(self, path: str, body: bytes, media: str = "application/json", **headers: str) -> httpx.Response:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.ask("POST", path, content=body, headers={"Content-Type": media} | named)

    def athlete(self, ref: str) -> str:
        assert self.post("/v1/athletes", {"ref": ref, "name": "Somebody"}).status_code == 201
        put = self.ask("PUT", f"/v1/athletes/{ref}/standard-position", json=POSITION)
        assert put.status_code == 200, put.text
        return ref

    def stored(self) -> dict[str, int]:
        """Count the rows of every table: what a refused request must not change."""
        with self.app.state.store.read() as connection:
            return {
                name: connection.exec_driver_sql(f'SELECT COUNT(*) FROM "{name}"').scalar_one()
                for name in sqlalchemy.inspect(connection).get_table_names()
            }

    def close(self) -> None:
        self._runner.run(self._client.aclose())
        self._runner.close()
        self.app.state.store.close()


def is_problem(answer: httpx.Response, *statuses: int) -> dict[str, object]:
    """Check that an answer is a sound problem document (RFC 9457) of one of some statuses, and give it."""
    assert answer.status_code in (statuses or range(400, 500)), (answer.status_code, answer.text[:500])
    assert answer.headers["content-type"] == "application/problem+json", answer.headers
    problem = json.loads(answer.content, parse_constant=_no_constant)
    assert problem["status"] == answer.status_code
    assert problem["title"]
    assert problem["detail"]
    assert len(problem["errors"]) <= 100
    for error in problem["errors"]:
        assert error["code"]
        assert error["detail"]
        assert ("pointer" in error) != ("parameter" in error), error
    if answer.status_code == 422:
        assert problem["errors"], problem
    return problem


def _no_constant(name: str) -> None:
    raise AssertionError(f"{name} is no JSON")
