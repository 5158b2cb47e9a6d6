"""Reading: a rebuild against reading the same sets, the board against the SQL behind it."""

import gc
import json
import multiprocessing
import sqlite3
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from pydantic import TypeAdapter
from speed_bodies import Club, athlete_refs, seasons_of, sets_of
from speed_http import Request, Target, load, request, service
from speed_posts import enrol
from speed_ratios import Ratio, as_time

from stillset_core.members import SetMembers
from stillset_core.trend import warm_up
from stillset_service import clock
from stillset_service.rebuild import everybody, rebuild_athlete
from stillset_service.settings import Settings
from stillset_service.store.engine import Store

__all__ = ["board", "rebuild"]

SQUAD = "speed"
NDJSON = "application/x-ndjson"
SETS_IN_BATCH = 500
Seconds = tuple[float, ...]


def rebuild(*, quick: bool) -> list[Ratio]:
    """Rebuild a club in a fresh process, so that nothing is remembered."""
    club = Club(3, 1, 20) if quick else Club(30, 1, 150)
    rounds: list[Seconds] = []
    with TemporaryDirectory() as folder:
        database = Path(folder, "service.db")
        with service(database) as target:
            _fill(target, club)
        for _ in range(1 if quick else 5):
            with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as fresh:
                rounds.append(fresh.submit(_rebuild_once, database).result())
    ours, validated, raw = ([one[place] for one in rounds] for place in range(3))
    measured = f"rebuild, {club.athletes * club.seasons * club.sets_per_season} sets"
    return [
        as_time("rebuild", measured, ours, ("reading the sets: SQL and pydantic validate_json", validated), 3),
        as_time("rebuild", measured, ours, ("their rows alone: sqlite3 fetchall", raw), None),
    ]


def board(*, quick: bool) -> list[Ratio]:
    """Ask for the board first thing after a start, after one more set, and again with nothing new.

    The first request is sent as soon as the service is ready, so it has to wait for what the service began by itself.
    """
    club = Club(3, 1, 20) if quick else Club(60, 3, 100)
    cold, after_a_set, warm = list[float](), list[float](), list[float]()
    everything, revisions = list[float](), list[float]()
    with TemporaryDirectory() as folder:
        database = Path(folder, "service.db")
        with service(database) as target:
            _fill(target, club)
        for number in range(1 if quick else 5):
            with service(database) as target, closing(sqlite3.connect(database)) as store:
                everything.append(_seconds(lambda: _read_everything(store)))
                ask = request(target, "GET", f"/v1/squads/{SQUAD}/board?limit=1000")
                cold.append(_asked(target, ask, club))
                load(target, [request(target, "POST", "/v1/sets", sets_of(["SP-001"], 1, 100 + number)[0])])
                after_a_set.append(_asked(target, ask, club))
                pairs = [
                    (_asked(target, ask, club), _seconds(lambda: _read_revisions(store)))
                    for _ in range(5 if quick else 40)
                ]
                warm.append(median(pair[0] for pair in pairs))
                revisions.append(median(pair[1] for pair in pairs))
    size = f"board, {club.athletes} athletes × {club.seasons} seasons"
    all_rows, facts = "sqlite3: its athletes, positions, periods and sets", "sqlite3: squad, protocol and its athletes"
    return [
        as_time("board", f"{size}, again", warm, (all_rows, everything), 4),
        as_time("board", f"{size}, after a set", after_a_set, (all_rows, everything), 4),
        as_time("board", f"{size}, first", cold, (all_rows, everything), 4),
        as_time("board", f"{size}, again", warm, (facts, revisions), None),
    ]


def _fill(target: Target, club: Club) -> None:
    """Load a club's seasons, which end now."""
    enrol(target, athlete_refs(club.athletes), SQUAD)
    bodies = seasons_of(club, datetime.now(UTC), seed=1)
    batches = [
        request(target, "POST", "/v1/sets/batch", b"\n".join(some), NDJSON) for some in _chunks(bodies, SETS_IN_BATCH)
    ]
    stored = sum(json.loads(body)["counts"]["stored"] for body in load(target, batches, 2).bodies)
    if stored != club.athletes * club.seasons * club.sets_per_season:
        raise RuntimeError(f"only {stored} sets were stored")


def _chunks(bodies: Iterator[bytes], size: int) -> Iterator[list[bytes]]:
    while some := list(islice(bodies, size)):
        yield some


def _rebuild_once(database: Path) -> Seconds:
    """Time a rebuild, reading its sets as validated documents, and reading their rows."""
    warm_up()
    validate = TypeAdapter(SetMembers).validate_json
    gc.freeze()
    with closing(sqlite3.connect(database)) as raw:
        sql = "SELECT id, record, status, received_us, document FROM stored_set"
        rows = _seconds(lambda: raw.execute(sql).fetchall())
        documents = _seconds(lambda: [validate(row[4]) for row in raw.execute(sql).fetchall()])
    store = Store(Settings(database_url=f"sqlite:///{database}"))
    as_of = clock.now()
    ours = _seconds(lambda: [rebuild_athlete(store, club_id, facts, as_of) for club_id, facts in everybody(store)])
    store.close()
    return ours, documents, rows


def _asked(target: Target, ask: Request, club: Club) -> float:
    answers = load(target, [ask])
    if len(json.loads(answers.bodies[0])["items"]) != club.athletes:
        raise RuntimeError("the board lacks athletes")
    return answers.seconds


def _read_revisions(store: sqlite3.Connection) -> None:
    """Read what tells whether a board still holds: the squad, the protocol and the athletes at their revisions."""
    (club,) = store.execute("SELECT id FROM club WHERE slug = 'club'").fetchone()
    store.execute("SELECT * FROM squad WHERE club_id = ? AND ref = ?", (club, SQUAD)).fetchall()
    store.execute("SELECT * FROM protocol_version WHERE club_id = ? ORDER BY version DESC LIMIT 1", (club,)).fetchall()
    store.execute(
        "SELECT a.*, s.ref FROM athlete a LEFT JOIN squad s ON s.id = a.squad_id WHERE a.club_id = ? AND s.ref = ?",
        (club, SQUAD),
    ).fetchall()


def _read_everything(store: sqlite3.Connection) -> None:
    """Read all that a board is made of."""
    _read_revisions(store)
    store.execute("SELECT * FROM standard_position").fetchall()
    store.execute("SELECT * FROM period").fetchall()
    store.execute("SELECT id, athlete_id, record, status, received_us FROM stored_set").fetchall()


def _seconds(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started
