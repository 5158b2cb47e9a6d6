"""Two processes on one database, and many clients at once: nothing is lost, stored twice or read late."""

import itertools
import json
import threading
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import httpx
import pytest
from inside import POSITION
from odd import full_set
from outsider import Club, Server
from postgres_cluster import PostgresCluster

CLIENTS = 8
VIEWS = ("sets", "readings", "trend", "balance", "load", "pain", "attention")


@dataclass
class Process(Server):
    """One of several processes on a database that they share."""

    address: str = ""

    @property
    def database(self) -> str:
        return self.address


@dataclass(frozen=True)
class Pair:
    """Two processes that were started at the same moment on an empty database."""

    processes: tuple[Process, Process]
    key: str

    def client(self, number: int) -> httpx.Client:
        return self.processes[number % 2].client(self.key)


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def pair(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pair]:
    if request.param == "sqlite":
        address = f"sqlite:///{tmp_path_factory.mktemp('shared') / 'shared.db'}"
    else:
        cluster: PostgresCluster = request.getfixturevalue("postgres")
        address = cluster.new_database("two_processes")
    processes = tuple(Process(tmp_path_factory.mktemp("process"), address=address) for _ in range(2))
    with ThreadPoolExecutor() as pool:
        list(pool.map(Process.start, processes))
    yield Pair(processes, processes[0].key("sets:write", "read", "manage"))
    for process in processes:
        assert process.process is not None
        assert process.process.poll() is None
        process.stop()


_athletes = itertools.count(1)


@pytest.fixture
def athlete(pair: Pair) -> str:
    with pair.client(0) as api:
        return Club(api, "T").athlete(f"T-{next(_athletes)}")


def _set_of(athlete: str, number: int, **changes: object) -> dict[str, object]:
    at = f"2026-09-{1 + number % 28:02d}T{8 + number // 28:02d}:00:00Z"
    return full_set(client_ref=f"{athlete}-{number}", athlete=athlete, performed_at=at) | changes


def _at_once(work: object, clients: int = CLIENTS) -> list[object]:
    """Run ``work(number of client)`` in as many threads, let go together."""
    gate = threading.Barrier(clients)

    def run(number: int) -> object:
        gate.wait()
        return work(number)  # type: ignore[operator]

    with ThreadPoolExecutor(clients) as pool:
        return list(pool.map(run, range(clients)))


def _both_say_the_same(pair: Pair, athlete: str) -> dict[str, object]:
    said = []
    for number in range(2):
        with pair.client(number) as api:
            answers = {
                view: api.get(
                    f"/v1/athletes/{athlete}/{view}?limit=1000"
                    if view in {"sets", "readings"}
                    else f"/v1/athletes/{athlete}/{view}"
                )
                for view in VIEWS
            }
        assert {answer.status_code for answer in answers.values()} == {200}
        said.append({view: json.loads(answer.content) for view, answer in answers.items()})
    assert said[0] == said[1]
    return said[0]


def test_the_same_sets_from_everywhere_are_stored_once_each(pair: Pair, athlete: str) -> None:
    numbers = range(25)

    def post_all(client: int) -> list[tuple[str, int, bytes]]:
        seen = []
        order = [*numbers[client:], *numbers[:client]]
        with pair.client(client) as api:
            for number in order:
                document = _set_of(athlete, number)
                answer = api.post("/v1/sets", json=document)
                seen.append((str(document["client_ref"]), answer.status_code, answer.content))
        return seen

    by_ref = defaultdict(list)
    for ref, status, body in itertools.chain(*_at_once(post_all)):
        by_ref[ref].append((status, body))
    assert len(by_ref) == len(numbers)
    for answers in by_ref.values():
        assert Counter(status for status, _ in answers) == {201: 1, 200: CLIENTS - 1}
        assert len({body for _, body in answers}) == 1
    assert len(_both_say_the_same(pair, athlete)["sets"]["items"]) == len(numbers)


def test_one_of_several_contents_wins_and_the_others_are_conflicts(pair: Pair, athlete: str) -> None:
    numbers = range(15)

    def post_all(client: int) -> list[tuple[int, int, dict[str, object]]]:
        seen = []
        with pair.client(client) as api:
            for number in numbers:
                answer = api.post("/v1/sets", json=_set_of(athlete, number, rpe=client % 4))
                seen.append((client % 4, answer.status_code, answer.json()))
        return seen

    for answers in zip(*_at_once(post_all), strict=True):
        assert Counter(status for _, status, _ in answers) == {201: 1, 200: 1, 409: CLIENTS - 2}
        assert len({rpe for rpe, status, _ in answers if status != 409}) == 1
        for _, status, body in answers:
            if status == 409:
                assert [error["pointer"] for error in body["errors"]] == ["/rpe"]
    assert len(_both_say_the_same(pair, athlete)["sets"]["items"]) == len(numbers)


def test_overlapping_batches_of_several_athletes_are_stored_once_each(pair: Pair) -> None:
    with pair.client(0) as api:
        refs = [Club(api, "T").athlete(f"T-{next(_athletes)}") for _ in range(3)]
    documents = [_set_of(ref, number) for number in range(20) for ref in refs]

    def post_all(client: int) -> Counter[str]:
        counts: Counter[str] = Counter()
        turned = documents[client * 7 :] + documents[: client * 7]
        if client % 2:
            turned.reverse()  # Athletes in another order, so that locks meet.
        with pair.client(client // 2) as api:
            for start in range(0, len(turned), 15):
                answer = api.post("/v1/sets/batch", json=turned[start : start + 15])
                assert answer.status_code == 200, answer.text
                counts.update(answer.json()["counts"])
        return counts

    total: Counter[str] = Counter()
    for counts in _at_once(post_all):
        total += counts
    assert total == {"stored": len(documents), "seen": (CLIENTS - 1) * len(documents)}
    for ref in refs:
        assert len(_both_say_the_same(pair, ref)["sets"]["items"]) == 20


def test_what_one_process_acknowledged_the_other_reads(pair: Pair, athlete: str) -> None:
    def post_and_look(client: int) -> None:
        with pair.client(client) as here, pair.client(client + 1) as there:
            for step in range(6):
                number = client * 6 + step
                made = here.post("/v1/sets", json=_set_of(athlete, number))
                assert made.status_code == 201, made.text
                ref = made.json()["client_ref"]
                for view in ("sets", "readings"):
                    rows = there.get(f"/v1/athletes/{athlete}/{view}?limit=1000").json()["items"]
                    assert ref in {row["client_ref"] for row in rows}, (view, ref)
                set_id = made.json()["id"]
                change = {"reason": "mistyped", "changes": {"intended_percent": 50, "reps": _set_of("", 0)["reps"][:1]}}
                assert there.post(f"/v1/sets/{set_id}/amend", json=change).status_code == 200
                rows = here.get(f"/v1/athletes/{athlete}/readings?limit=1000").json()["items"]
                assert {row["standing"] for row in rows if row["client_ref"] == ref} == {"at_least"}

    _at_once(post_and_look)
    assert len(_both_say_the_same(pair, athlete)["sets"]["items"]) == CLIENTS * 6


def test_amendments_at_once_lose_none_of_them(pair: Pair, athlete: str) -> None:
    with pair.client(0) as api:
        set_id = api.post("/v1/sets", json=_set_of(athlete, 0)).json()["id"]
    changes = [
        {"rpe": 3},
        {"note": "amended"},
        {"pain": {"score": 5}},
        {"body_mass_kg": 80},
        {"session_ref": "amended"},
        {"purpose": "test"},
        {"instrument": {"serial": "B-7"}},
        {"position": {"arms": "at the sides"}},
    ]

    def amend(client: int) -> int:
        with pair.client(client) as api:
            body = {"reason": "mistyped", "changes": changes[client]}
            return api.post(f"/v1/sets/{set_id}/amend", json=body).status_code

    assert set(_at_once(amend)) == {200}
    with pair.client(1) as api:
        document = api.get(f"/v1/sets/{set_id}").json()
        versions = api.get(f"/v1/athletes/{athlete}/export").text.count("mistyped")
    for change in changes:
        for name, value in change.items():
            found = document[name]
            assert (found.items() >= value.items()) if isinstance(value, dict) else found == value
    assert versions >= len(changes)
    _both_say_the_same(pair, athlete)


def test_protocols_and_positions_put_at_once_are_all_kept(pair: Pair, athlete: str) -> None:
    with pair.client(0) as api:
        before = api.get("/v1/protocol").json()["version"]

    def put(client: int) -> tuple[int, int, int]:
        with pair.client(client) as api:
            protocol = api.put("/v1/protocol", json={"min_hold_s": 2 + client / 10})
            position = api.put(
                f"/v1/athletes/{athlete}/standard-position", json=POSITION | {"valid_from": f"2026-08-0{client + 1}"}
            )
            posted = api.post("/v1/sets", json=_set_of(athlete, client))
        assert protocol.status_code == 200, protocol.text
        return protocol.json()["version"], position.status_code, posted.status_code

    results = _at_once(put)
    assert sorted(version for version, _, _ in results) == list(range(before + 1, before + 1 + CLIENTS))
    assert {statuses for _, *statuses in map(tuple, results) for statuses in [tuple(statuses)]} == {(200, 201)}
    with pair.client(1) as api:
        entries = api.get(f"/v1/athletes/{athlete}/standard-position").json()["items"]
        assert len(entries) == CLIENTS + 1
        assert api.put("/v1/protocol", json={}).status_code == 200
    _both_say_the_same(pair, athlete)


def test_an_athlete_made_or_erased_at_once_is_there_once_or_not_at_all(pair: Pair) -> None:
    ref = f"T-{next(_athletes)}"

    def make(client: int) -> int:
        with pair.client(client) as api:
            return api.post("/v1/athletes", json={"ref": ref}).status_code

    assert Counter(_at_once(make)) == {201: 1, 409: CLIENTS - 1}

    def post_or_erase(client: int) -> list[int]:
        with pair.client(client) as api:
            if client == CLIENTS - 1:
                return [api.delete(f"/v1/athletes/{ref}").status_code]
            return [api.post("/v1/sets", json=_set_of(ref, 10 * client + step)).status_code for step in range(8)]

    *posted, erased = _at_once(post_or_erase)
    assert erased == [204]
    for statuses in posted:
        assert statuses == sorted(statuses), "nobody is known again after having been erased"
        assert set(statuses) <= {201, 422}
    for number in range(2):
        with pair.client(number) as api:
            assert api.get(f"/v1/athletes/{ref}/sets").status_code == 404


def test_withdrawing_and_amending_at_once_end_in_one_order(pair: Pair, athlete: str) -> None:
    with pair.client(0) as api:
        ids = [api.post("/v1/sets", json=_set_of(athlete, number)).json()["id"] for number in range(6)]

    def change(client: int) -> list[int]:
        statuses = []
        with pair.client(client) as api:
            for set_id in ids:
                if client < CLIENTS // 2:
                    answer = api.post(f"/v1/sets/{set_id}/withdraw", json={"reason": "wrong athlete"})
                else:
                    body = {"reason": "mistyped", "changes": {"note": f"note of {client}"}}
                    answer = api.post(f"/v1/sets/{set_id}/amend", json=body)
                statuses.append(answer.status_code)
        return statuses

    results = _at_once(change)
    assert {status for statuses in results[: CLIENTS // 2] for status in statuses} == {200}
    assert {status for statuses in results[CLIENTS // 2 :] for status in statuses} <= {200, 409}
    said = _both_say_the_same(pair, athlete)
    assert {row["status"] for row in said["sets"]["items"]} == {"withdrawn"}
    assert said["readings"]["items"] == []


def test_sets_moved_between_athletes_while_one_is_erased_end_somewhere_whole(pair: Pair) -> None:
    with pair.client(0) as api:
        stays, goes = (Club(api, "T").athlete(f"T-{next(_athletes)}") for _ in range(2))
        ids = [
            api.post("/v1/sets", json=_set_of(owner, number)).json()["id"]
            for owner in (stays, goes)
            for number in range(4)
        ]

    def move(client: int) -> list[int]:
        with pair.client(client) as api:
            if client == CLIENTS - 1:
                for ref in (stays, goes):
                    api.get(f"/v1/athletes/{ref}/trend")
                return [api.delete(f"/v1/athletes/{goes}").status_code]
            turned = ids if client % 2 else ids[::-1]
            owners = itertools.cycle((goes, stays) if client % 4 < 2 else (stays, goes))
            bodies = [{"reason": "wrong athlete", "changes": {"athlete": next(owners)}} for _ in turned]
            return [
                api.post(f"/v1/sets/{set_id}/amend", json=body).status_code
                for set_id, body in zip(turned, bodies, strict=True)
            ]

    *moved, erased = _at_once(move)
    assert erased == [204]
    # 422: it is that athlete's already, or the athlete is gone; 404: the set is gone with its athlete.
    assert {status for statuses in moved for status in statuses} <= {200, 404, 422}
    left = {row["id"] for row in _both_say_the_same(pair, stays)["sets"]["items"]}
    for number, set_id in enumerate(ids):
        with pair.client(number) as api:
            found = api.get(f"/v1/sets/{set_id}")
        assert found.status_code == (200 if set_id in left else 404)
        if set_id in left:
            assert found.json()["athlete"] == stays
