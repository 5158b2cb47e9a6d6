"""Sets coming in: single posts and batches against a bare handler and against SQLite alone."""

import json
import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from speed_bodies import STANDARD_POSITION, athlete_refs, sets_of
from speed_http import Request, Target, bare_handler, load, request, service
from speed_ratios import Ratio, as_rate

__all__ = ["batches", "enrol", "singles"]

NDJSON = "application/x-ndjson"
ATHLETES = 40
Row = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Amount:
    """How much to send: rounds, sets of each, sets in one request, and connections."""

    rounds: int
    sets: int
    per_request: int
    connections: int


def singles(*, quick: bool) -> list[Ratio]:
    """Single posts on 16 connections, durable and judged."""
    amount = Amount(2, 64, 1, 16) if quick else Amount(7, 2000, 1, 16)
    return [_measured("singles", "single posts, 16 connections", amount, 0.55)]


def batches(*, quick: bool) -> list[Ratio]:
    """Batches of 500 on 4 connections, durable and judged."""
    amount = Amount(2, 2000, 500, 4) if quick else Amount(7, 10_000, 500, 4)
    return [_measured("batches", "batches of 500, 4 connections", amount, 0.3)]


def enrol(target: Target, refs: Sequence[str], squad: str) -> None:
    """Make a squad of athletes, each with a standard position."""
    posts = [request(target, "POST", "/v1/squads", json.dumps({"ref": squad, "name": squad}).encode())]
    for ref in refs:
        facts = json.dumps({"ref": ref, "name": ref, "squad": squad}).encode()
        posts.append(request(target, "POST", "/v1/athletes", facts))
        standard = json.dumps(STANDARD_POSITION).encode()
        posts.append(request(target, "PUT", f"/v1/athletes/{ref}/standard-position", standard))
    load(target, posts)


def _measured(name: str, measured: str, amount: Amount, goal: float) -> Ratio:
    ours, bare, raw = list[float](), list[float](), list[float]()
    refs = athlete_refs(ATHLETES)
    with TemporaryDirectory() as folder, bare_handler() as handler, service(Path(folder, "service.db")) as target:
        enrol(target, refs, "speed")
        with _raw_store(Path(folder)) as store:
            # One round first that does not count: every part has then done everything once.
            for number in range(amount.rounds + 1):
                bodies = sets_of(refs, amount.sets, number)
                ours.append(_rate(target, bodies, amount))
                bare.append(_rate(handler, bodies, amount))
                raw.append(store.rate(amount.per_request))
    validation = "bare handler, same bodies"
    inserts = "sqlite3 INSERT of the same rows, one commit " + ("each" if amount.per_request == 1 else "per batch")
    return as_rate(name, measured, ours[1:], {validation: bare[1:], inserts: raw[1:]}, goal)


def _rate(target: Target, bodies: Sequence[bytes], amount: Amount) -> float:
    requests = list(_requests(target, bodies, amount.per_request))
    answers = load(target, requests, amount.connections)
    for body in answers.bodies:
        if b'"outcome":"invalid"' in body:
            raise RuntimeError(f"a set was refused: {body[:500]!r}")
    return len(bodies) / answers.seconds


def _requests(target: Target, bodies: Sequence[bytes], per_request: int) -> Iterator[Request]:
    if per_request == 1:
        for body in bodies:
            yield request(target, "POST", "/v1/sets", body)
        return
    for start in range(0, len(bodies), per_request):
        lines = b"\n".join(bodies[start : start + per_request])
        yield request(target, "POST", "/v1/sets/batch", lines, NDJSON)


@dataclass
class _RawStore:
    """The table of sets alone, as the service defines it, filled with the rows that the service last stored."""

    source: sqlite3.Connection
    connection: sqlite3.Connection
    copied: int = 0
    insert: str = field(init=False)

    def __post_init__(self) -> None:
        definitions = (
            "SELECT sql FROM sqlite_master WHERE tbl_name = 'stored_set' AND sql IS NOT NULL ORDER BY type DESC"
        )
        for (sql,) in self.source.execute(definitions).fetchall():
            self.connection.execute(sql)
        columns = len(self.source.execute("PRAGMA table_info(stored_set)").fetchall())
        self.insert = f"INSERT INTO stored_set VALUES ({', '.join('?' * columns)})"

    def rate(self, per_commit: int) -> float:
        """Store what is new, durably after every ``per_commit`` rows; give sets per second."""
        rows: list[Row] = self.source.execute(
            "SELECT * FROM stored_set ORDER BY rowid LIMIT -1 OFFSET ?", (self.copied,)
        ).fetchall()
        self.copied += len(rows)
        started = time.perf_counter()
        for start in range(0, len(rows), per_commit):
            self.connection.execute("BEGIN IMMEDIATE")
            self.connection.executemany(self.insert, rows[start : start + per_commit])
            self.connection.execute("COMMIT")
        return len(rows) / (time.perf_counter() - started)


@contextmanager
def _raw_store(folder: Path) -> Iterator[_RawStore]:
    source = sqlite3.connect(folder / "service.db")
    connection = sqlite3.connect(folder / "raw.db", isolation_level=None)
    try:
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "cache_size=-65536"):
            connection.execute(f"PRAGMA {pragma}")
        yield _RawStore(source, connection)
    finally:
        source.close()
        connection.close()
