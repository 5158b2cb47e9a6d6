"""The demo: the invented season of Marram Bay, loaded as any client would, served and shown.

Every demo works in a folder of its own that is gone when it stops, so each starts from the same
season, which ends today.
"""

import secrets
import tempfile
import threading
import webbrowser
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import anyio
import httpx
import orjson
from fastapi import FastAPI
from fastapi.responses import RedirectResponse, Response
from rich.progress import Progress, TaskID

from stillset_demo.season import Season, make_season
from stillset_service import clock
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.commands import serving
from stillset_service.commands.console import CommandError, ExitCode, answers, notes, progress
from stillset_service.commands.doors import Door, asked
from stillset_service.commands.keeping import made
from stillset_service.commands.posting import post_all
from stillset_service.commands.set_files import Item
from stillset_service.pages.session import COOKIE, signed
from stillset_service.settings import Settings
from stillset_service.warming import kept_warm

__all__ = ["load_season", "run_demo"]


def run_demo(settings: Settings, *, browser: bool) -> None:
    """Load the season, serve it, and open the board."""
    serving.stop_in_order()
    listening, settings = serving.listen(settings)
    season = make_season(end=clock.now().date())
    club = str(season.club["slug"])
    with listening, tempfile.TemporaryDirectory(prefix="stillset-demo-") as folder:
        database = f"sqlite:///{Path(folder) / 'demo.db'}"
        with progress() as bar:
            anyio.run(load_season, season, Door(database=database, club=club), bar)
        app = made(replace(settings, database_url=database))
        key = create_key(app.state.store, club, "demo", Scope, club_name=str(season.club["name"]))
        address = serving.address_of(settings)
        answers().print(f"Key:   {key}\nBoard: {address}", soft_wrap=True)
        notes().print("Sign in with the key. Stop with Ctrl-C.")
        if browser:
            # In a thread: a browser in the terminal would hold the service up.
            threading.Thread(
                target=webbrowser.open, args=(serving.address_of(settings, _door(app, key)),), daemon=True
            ).start()
        with kept_warm(app.state.store):
            serving.run(app, listening)


async def load_season(season: Season, door: Door, bar: Progress) -> None:
    """Send a season through the API, in the order in which a club would have.

    Raises
    ------
    CommandError
        When the service refuses any of it.
    """
    steps = len(season.squads) + len(season.athletes) + len(season.standard_positions) + len(season.periods)
    task = bar.add_task("Loading", total=steps + len(season.sets))
    items = [Item(place, orjson.dumps(one)) for place, one in enumerate(season.sets, start=1)]
    async with door.open() as client:
        for method, path, document in _documents(season):
            await asked(client, client.build_request(method, path, json=document))
            bar.advance(task)
        posted = await post_all(client, items, lambda count: bar.advance(task, count), dry_run=False)
        if posted.refused:
            raise CommandError(f"The season was not taken whole: {posted.summary}", ExitCode.SOME_REFUSED)
        await _draw_first_board(client, season, bar)


def _door(app: FastAPI, key: str) -> str:
    """Add a path that signs in the first browser that comes by it, so that nobody has to paste the key."""
    path = f"/demo/{secrets.token_urlsafe()}"
    tickets = [key]

    def enter() -> Response:
        answer = RedirectResponse("/", status_code=303)
        access = app.state.keyring.access(tickets.pop()) if tickets else None
        cookie = None if access is None else signed(app.state.store, access)
        if cookie is not None:
            answer.set_cookie(COOKIE, cookie, httponly=True, samesite="strict")
        return answer

    app.add_api_route(path, enter, include_in_schema=False)
    return path


def _documents(season: Season) -> Iterator[tuple[str, str, object]]:
    for squad in season.squads:
        yield "POST", "/v1/squads", squad
    for athlete in season.athletes:
        yield "POST", "/v1/athletes", athlete
    for ref, position in season.standard_positions.items():
        yield "PUT", f"/v1/athletes/{ref}/standard-position", position
    for ref, period in season.periods:
        yield "POST", f"/v1/athletes/{ref}/periods", period


async def _draw_first_board(client: httpx.AsyncClient, season: Season, bar: Progress) -> None:
    """Ask for each board once, so that the first look at it need not wait for every trend."""
    task: TaskID = bar.add_task("Trends", total=len(season.squads))
    for squad in season.squads:
        await asked(client, client.build_request("GET", f"/v1/squads/{squad['ref']}/board"))
        bar.advance(task)
