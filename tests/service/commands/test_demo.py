"""The way in that the demo opens for its own browser."""

import asyncio
from pathlib import Path

import httpx

from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.commands.demo import _door
from stillset_service.settings import Settings


def test_the_door_lets_one_browser_in_and_no_second_one(tmp_path: Path) -> None:
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'club.db'}"))
    path = _door(app, create_key(app.state.store, "club", "demo", list(Scope)))

    async def visits() -> list[httpx.Response]:
        found = []
        for _ in range(2):
            async with httpx.AsyncClient(
                transport=httpx.ASGITransport(app=app), base_url="http://club.example"
            ) as browser:
                found += [await browser.get(path), await browser.get("/")]
        return found

    entered, board, turned_away, sign_in = asyncio.run(visits())
    app.state.store.close()
    assert (entered.status_code, entered.headers["Location"]) == (303, "/")
    assert "HttpOnly" in entered.headers["Set-Cookie"]
    assert "Set-Cookie" not in turned_away.headers
    assert board.status_code == 200
    assert "password" not in board.text
    assert board.text != sign_in.text
