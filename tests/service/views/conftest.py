"""A club with one squad, read as any client would."""

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

Document = dict[str, object]
FIRST = datetime(2026, 3, 2, 17, tzinfo=UTC)
POSITION = {"name": "supine-bent-knee", "knee_angle_deg": 60}


class Api:
    """Reads a club in plain calls, with the headers of a reader."""

    def __init__(self, club: Any) -> None:
        self._club = club
        self.send("POST", "/v1/squads", json={"ref": "first-team", "name": "First team"}).raise_for_status()

    def send(self, method: str, path: str, **options: object) -> httpx.Response:
        return self._club.send(method, path, **options)

    def get(self, path: str, **headers: str) -> httpx.Response:
        return self.send("GET", path, headers={name.replace("_", "-"): value for name, value in headers.items()})

    def items(self, path: str) -> list[Document]:
        return self._club.items(path)

    def post(self, *documents: Mapping[str, object]) -> None:
        assert self._club.batch(list(documents))["counts"]["stored"] == len(documents)

    def make_athlete(self, ref: str = "MB-07", **facts: object) -> None:
        self._club.athlete(ref, position=False, squad="first-team", **facts)
        self._club.position(ref, "2026-01-01", position=POSITION)


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


def makers(service: Any) -> Iterator[Callable[[], Api]]:
    """Give a maker of clubs of one service, which cannot see one another."""
    clubs = []

    def make() -> Api:
        clubs.append(service.club())
        return Api(clubs[-1])

    yield make
    for club in clubs:
        service.runner.run(club.client.aclose())


@pytest.fixture
def make_api(service: Any) -> Iterator[Callable[[], Api]]:
    yield from makers(service)


@pytest.fixture
def api(make_api: Callable[[], Api]) -> Api:
    """Give a club with one athlete who has no sets yet."""
    made = make_api()
    made.make_athlete()
    return made


@pytest.fixture(scope="module")
def shared_api(service: Any) -> Iterator[Api]:
    """Give the same to all tests of a module, which only read after the first filling."""
    for make in makers(service):
        made = make()
        made.make_athlete()
        yield made
