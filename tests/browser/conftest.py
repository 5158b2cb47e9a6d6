"""A real service with the demo season on a free port, and pages of a headless browser that watch for trouble."""

import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path

import httpx
import orjson
import pytest
import uvicorn
from playwright.sync_api import Browser, Page, sync_playwright

from stillset_demo.season import Season, make_season
from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.settings import Settings

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
HOSTILE = "<script>alert('name')</script>&\"'"
HOSTILE_PERIOD = "</script><script>alert('period')</script>"
HOSTILE_NOTE = "</script><img src=x onerror=alert(1)>{{ 7 * 7 }} ]]>"


@dataclass(frozen=True)
class Club:
    """A running service: its address, and keys of the demo club and of a club without anybody."""

    url: str
    key: str
    writing_key: str
    empty_key: str
    season: Season


@dataclass
class Watched:
    """A page of the browser with everything that went wrong in it and every address that it asked for."""

    page: Page
    troubles: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@contextmanager
def serving(database: Path) -> Iterator[tuple[str, Callable[..., str]]]:
    """Serve a database in this process; give the address and a function that makes keys."""
    app = create_app(Settings(database_url=f"sqlite:///{database}"))
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning", ws="none"))
    started = threading.Event()
    answered = server.startup

    async def startup(*args, **kwargs):
        await answered(*args, **kwargs)
        started.set()

    server.startup = startup
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    assert started.wait(timeout=60)
    port = server.servers[0].sockets[0].getsockname()[1]

    def key(club: str, *scopes: Scope) -> str:
        return create_key(app.state.store, club, "browser test", scopes)

    try:
        yield f"http://127.0.0.1:{port}", key
    finally:
        server.should_exit = True
        thread.join(timeout=30)


def load(client: httpx.Client, season: Season) -> None:
    """Post a season as any client would, with one athlete more whose name and note are hostile."""
    for squad in season.squads:
        client.post("/v1/squads", json=squad).raise_for_status()
    for athlete in season.athletes:
        client.post("/v1/athletes", json=athlete).raise_for_status()
    for ref, position in season.standard_positions.items():
        client.put(f"/v1/athletes/{ref}/standard-position", json=position).raise_for_status()
    for ref, period in season.periods:
        client.post(f"/v1/athletes/{ref}/periods", json=period).raise_for_status()
    client.post("/v1/athletes", json={"ref": "X.1", "name": HOSTILE, "role": "<b>wing</b>"}).raise_for_status()
    place = {"name": "supine-bent-knee", "bar_height": 34, "foot_mark": "<i>"}
    standard = {"position": place, "instrument_kind": "fixed-frame", "valid_from": "2026-01-01"}
    client.put("/v1/athletes/X.1/standard-position", json=standard).raise_for_status()
    period = {"kind": "injury", "from": date.today().isoformat(), "note": HOSTILE_PERIOD}  # noqa: DTZ011
    client.post("/v1/athletes/X.1/periods", json=period).raise_for_status()
    for first in range(0, len(season.sets), 1000):
        answer = client.post(
            "/v1/sets/batch",
            content=b"\n".join(orjson.dumps(one) for one in season.sets[first : first + 1000]),
            headers={"Content-Type": "application/x-ndjson"},
        ).raise_for_status()
        assert answer.json()["counts"]["stored"] == len(season.sets[first : first + 1000])
    hostile = {
        "client_ref": '"><svg onload=alert(2)>',
        "athlete": "X.1",
        "performed_at": datetime.now(UTC).isoformat(),
        "position": place,
        "instrument": {"kind": "fixed-frame", "serial": "<u>7"},
        "unit": "N",
        "intended_percent": 100,
        "reps": [{"direction": "squeeze", "hold_s": 5, "left": {"peak": 300}}],
        "pain": {"score": 2, "site": "<em>left</em>"},
        "note": HOSTILE_NOTE,
    }
    client.post("/v1/sets", json=hostile).raise_for_status()


@pytest.fixture(scope="session")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    season = make_season(end=date.today())  # noqa: DTZ011 (any date will do; the pages are looked at today)
    with serving(tmp_path_factory.mktemp("pages") / "pages.db") as (url, key):
        writing = key("marram-bay", *Scope)
        with httpx.Client(base_url=url, headers={"Authorization": f"Bearer {writing}"}, timeout=120) as client:
            load(client, season)
        yield Club(url, key("marram-bay", Scope.READ), writing, key("nobody-yet", Scope.READ), season)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    # By module, not by session: while it is open, its event loop would stand in the way of other tests of the process.
    program = os.environ.get("CHROMIUM") or shutil.which("chromium")
    assert program, "The browser tests need Debian's package chromium, or CHROMIUM naming another build."
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser: Browser, club: Club) -> Iterator[Callable[..., Watched]]:
    """Open a path of the service as somebody with a key; every page must end without trouble."""
    contexts, opened = [], []

    def open_(path: str = "/", *, key: str | None = None, width: int = 1440, **options: object) -> Watched:
        context = browser.new_context(viewport={"width": width, "height": 900}, **options)
        if key != "":
            context.set_extra_http_headers({"Authorization": f"Bearer {key or club.key}"})
        watched = Watched(context.new_page())
        page = watched.page
        page.on("console", lambda message: _hear(watched, message.type, message.text))
        page.on("pageerror", lambda error: watched.troubles.append(str(error)))
        page.on("dialog", lambda dialog: watched.troubles.append(f"dialog: {dialog.message}"))
        page.on("request", lambda request: watched.asked.append(request.url))
        contexts.append(context)
        opened.append(watched)
        page.goto(club.url + path)
        return watched

    yield open_
    for watched in opened:
        elsewhere = [url for url in watched.asked if not url.startswith((club.url, "data:"))]
        assert not elsewhere, elsewhere
        assert not watched.troubles, watched.troubles
    for context in contexts:
        context.close()


def _hear(watched: Watched, kind: str, text: str) -> None:
    # A violation of the Content-Security-Policy is an error on the console; so is a refused key, which tests want.
    if kind in {"error", "warning"} and "status of 401" not in text and "status of 404" not in text:
        watched.troubles.append(text)
