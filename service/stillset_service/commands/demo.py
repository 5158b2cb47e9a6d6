"""The demo: the invented season of Marram Bay, loaded as any client would, served and shown.

The loaded season is kept for the day in the user's data folder; every run works on its own copy,
so each demo starts from the same season and what is posted to it is gone when it stops.
"""

import os
import shutil
import tempfile
import threading
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date
from importlib.metadata import version
from pathlib import Path

import anyio
import httpx
import orjson
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
from stillset_service.settings import Settings

__all__ = ["load_season", "run_demo"]

BOARD = "/"


def run_demo(settings: Settings, *, browser: bool, fresh: bool) -> None:
    """Load the season unless a copy of today is at hand, serve it, and open the board."""
    listening, settings = serving.listen(settings)
    today = clock.now().astimezone(UTC).date()
    with _working_copy(today, fresh=fresh) as (database, club):
        app = made(replace(settings, database_url=f"sqlite:///{database}"))
        key = create_key(app.state.store, club, "demo", Scope)
        address = serving.address_of(settings, BOARD)
        answers().print(f"Key:   {key}\nBoard: {address}", soft_wrap=True)
        notes().print("Sign in with the key. Stop with Ctrl-C.")
        if browser:
            # In a thread: a browser in the terminal would hold the service up.
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
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


@contextmanager
def _working_copy(today: date, *, fresh: bool) -> Iterator[tuple[Path, str]]:
    season = make_season(end=today)
    with tempfile.TemporaryDirectory(prefix="stillset-demo-") as folder:
        copy = Path(folder) / "demo.db"
        kept = _kept(today)
        if kept.exists() and not fresh:
            shutil.copyfile(kept, copy)
        else:
            _load_into(copy, season)
            _keep(copy, kept)
        yield copy, str(season.club["slug"])


def _load_into(database: Path, season: Season) -> None:
    door = Door(database=f"sqlite:///{database}", club=str(season.club["slug"]))
    with progress() as bar:
        anyio.run(load_season, season, door, bar)


def _kept(today: date) -> Path:
    data = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return data / "stillset" / f"demo-{version('stillset')}-{today.isoformat()}.db"


def _keep(database: Path, kept: Path) -> None:
    """Keep a loaded season for later runs; where nothing can be kept, the next run loads it again."""
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        for old in kept.parent.glob("demo-*.db"):
            old.unlink()
        # Whole or not at all, also for a second demo that starts now.
        part = kept.with_suffix(f".{os.getpid()}.part")
        shutil.copyfile(database, part)
        part.replace(kept)
    except OSError:
        notes().print("The season could not be kept; the next demo will load it again.")
