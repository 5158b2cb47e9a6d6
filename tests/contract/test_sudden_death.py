"""A service killed in the middle of a load loses nothing that it acknowledged and doubles nothing on the retry."""

import json
import random
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest
from outsider import Server, a_set, ndjson, rep

ATHLETES = [f"K-{number}" for number in range(1, 7)]
BATCH = 40
POSITION = {
    "position": {"name": "supine-bent-knee", "knee_angle_deg": 60},
    "instrument_kind": "fixed-frame",
    "valid_from": "2020-01-01",
}


def documents() -> list[dict[str, object]]:
    """About 1,400 sets of six athletes, in an order that is not the order of time."""
    draw = random.Random(5)
    start = datetime(2026, 1, 5, 10, tzinfo=UTC)
    made = [
        a_set(
            ref,
            client_ref=f"{ref}-{number}",
            performed_at=(start + timedelta(days=number * 1.2, minutes=draw.randrange(300))).isoformat(),
            intended_percent=draw.choice([100, 100, 75]),
            reps=[rep(left=draw.randrange(260, 340), right=draw.randrange(260, 340)) for _ in range(3)],
        )
        for ref in ATHLETES
        for number in range(240)
    ]
    draw.shuffle(made)
    return made


@contextmanager
def service(folder: Path) -> Iterator[tuple[Server, httpx.Client]]:
    folder.mkdir()
    server = Server(folder)
    server.start()
    try:
        with server.client(server.key("sets:write", "read", "manage")) as api:
            for ref in ATHLETES:
                assert api.post("/v1/athletes", json={"ref": ref, "name": "Somebody"}).status_code == 201
                assert api.put(f"/v1/athletes/{ref}/standard-position", json=POSITION).status_code == 200
            yield server, api
    finally:
        server.stop()


def load(api: httpx.Client, sets: list[dict[str, object]], ids: dict[str, str], enough: threading.Event) -> None:
    """Post batch by batch, keep what was acknowledged, and say when a kill would fall in the middle."""
    headers = {"Content-Type": "application/x-ndjson"}
    for start in range(0, len(sets), BATCH):
        answer = api.post("/v1/sets/batch", content=ndjson(sets[start : start + BATCH]), headers=headers)
        for result in answer.json()["results"]:
            assert result["outcome"] in ("stored", "seen"), result
            before = ids.setdefault(result["client_ref"], result["id"])
            assert before == result["id"]
        if start >= 8 * BATCH:
            enough.set()


def everything(api: httpx.Client) -> dict[str, object]:
    """All that is derived from the sets, with nothing in it that may differ between two databases."""
    as_of = {"as_of": "2027-01-01T00:00:00Z"}
    seen: dict[str, object] = {}
    for ref in ATHLETES:
        seen[f"{ref} trend"] = api.get(f"/v1/athletes/{ref}/trend", params=as_of | {"history": "true"}).json()
        seen[f"{ref} balance"] = api.get(f"/v1/athletes/{ref}/balance", params=as_of).json()
        rows = api.get(f"/v1/athletes/{ref}/readings", params={"limit": 1000}).json()["items"]
        seen[f"{ref} readings"] = [{name: row[name] for name in row if name != "set_id"} for row in rows]
    return seen


def test_a_kill_in_the_middle_of_a_load_loses_and_doubles_nothing(tmp_path: Path) -> None:
    sets = documents()
    with service(tmp_path / "undisturbed") as (_, api):
        load(api, sets, {}, threading.Event())
        undisturbed = everything(api)

    with service(tmp_path / "killed") as (server, api):
        acknowledged: dict[str, str] = {}
        enough = threading.Event()

        def until_killed() -> None:
            with pytest.raises(httpx.TransportError):
                load(api, sets, acknowledged, enough)

        loader = threading.Thread(target=until_killed)
        loader.start()
        assert enough.wait(120)
        server.kill()
        loader.join(120)
        assert 0 < len(acknowledged) < len(sets)

        server.start()
        for reference, identity in acknowledged.items():
            stored = api.get(f"/v1/sets/{identity}")
            assert stored.status_code == 200
            assert stored.json()["client_ref"] == reference
        load(api, sets, acknowledged, threading.Event())
        assert len(set(acknowledged.values())) == len(sets)
        rows = [row for ref in ATHLETES for row in api.get(f"/v1/athletes/{ref}/sets?limit=1000").json()["items"]]
        assert sorted(str(row["client_ref"]) for row in rows) == sorted(str(one["client_ref"]) for one in sets)
        assert json.dumps(everything(api)) == json.dumps(undisturbed)
