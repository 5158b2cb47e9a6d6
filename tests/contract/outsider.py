"""A running service, seen from outside: these tests know the API contract and import nothing of ours."""

import json
import os
import re
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import httpx

STILLSET = str(Path(sys.executable).with_name("stillset"))


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Server:
    """One `stillset serve` process on its own database."""

    folder: Path
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def database(self) -> str:
        return f"sqlite:///{self.folder / 'contract.db'}"

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [STILLSET, "serve", "--database", self.database, "--host", "127.0.0.1", "--port", str(self.port)]
        with (self.folder / "serve.log").open("ab") as log:
            self.process = subprocess.Popen(command, stdout=log, stderr=log, env=os.environ | {"NO_COLOR": "1"})
        for _ in range(1200):
            if self.process.poll() is not None:
                raise AssertionError((self.folder / "serve.log").read_text())
            try:
                if httpx.get(f"{self.url}/healthz", timeout=5).status_code == 200:
                    return
            except httpx.TransportError:
                time.sleep(0.1)
        raise AssertionError("the service did not come up")

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            self.process.wait(30)

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait(30)

    def key(self, *scopes: str, club: str | None = None) -> str:
        command = [STILLSET, "key", "create", "--database", self.database, "--name", "outside"]
        for scope in scopes:
            command += ["--scope", scope]
        if club is not None:
            command += ["--club", club]
        made = subprocess.run(command, capture_output=True, text=True, check=True)
        assert re.fullmatch(r"\S+\n", made.stdout), made.stdout
        return made.stdout.strip()

    def client(self, key: str | None) -> httpx.Client:
        headers = {} if key is None else {"Authorization": f"Bearer {key}"}
        return httpx.Client(base_url=self.url, headers=headers, timeout=120)


@dataclass
class Club:
    """A club as one test sees it: its athletes are its own, so that tests cannot disturb each other."""

    api: httpx.Client
    name: str
    athletes: int = 0

    def athlete(self, ref: str | None = None, *, position: bool = True, **facts: object) -> str:
        self.athletes += 1
        ref = ref or f"{self.name}-A{self.athletes:02d}"
        made = self.api.post("/v1/athletes", json={"ref": ref, "name": "Somebody", **facts})
        assert made.status_code == 201, made.text
        if position:
            self.position(ref)
        return ref

    def position(self, ref: str, **changes: object) -> dict[str, object]:
        body = {
            "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34, "foot_mark": "C"},
            "instrument_kind": "fixed-frame",
            "measured_by": "goniometer",
            "valid_from": "2020-01-01",
        } | changes
        put = self.api.put(f"/v1/athletes/{ref}/standard-position", json=body)
        assert put.status_code == 200, put.text
        return put.json()

    def protocol(self, **settings: object) -> None:
        put = self.api.put("/v1/protocol", json=settings)
        assert put.status_code == 200, put.text

    def post(self, document: dict[str, object], status: int = 201) -> dict[str, object]:
        answer = self.api.post("/v1/sets", json=document)
        assert answer.status_code == status, answer.text
        return answer.json()


_counter = iter(range(1, 10**9))


def rep(
    direction: str = "squeeze", hold_s: float = 5.0, left: object = 300, right: object = 290, **more: object
) -> dict[str, object]:
    built: dict[str, object] = {"direction": direction, "hold_s": hold_s}
    for name, force in (("left", left), ("right", right)):
        if force is not None:
            built[name] = force if isinstance(force, dict) else {"peak": force}
    return built | more


def a_set(athlete: str = "A-01", **changes: object) -> dict[str, object]:
    document: dict[str, object] = {
        "client_ref": f"set-{next(_counter)}",
        "athlete": athlete,
        "performed_at": "2026-09-14T17:32:05+02:00",
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60},
        "instrument": {"kind": "fixed-frame"},
        "unit": "N",
        "intended_percent": 100,
        "reps": [rep()],
    }
    document |= changes
    return {name: value for name, value in document.items() if value is not ...}


def pointers(problem: dict[str, object]) -> list[str]:
    errors = problem["errors"]
    assert isinstance(errors, list)
    return [error.get("pointer", f"?{error.get('parameter')}") for error in errors]


def ndjson(documents: list[dict[str, object]]) -> bytes:
    return b"\n".join(json.dumps(document).encode() for document in documents)
