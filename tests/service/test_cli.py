"""The command line as a person or a script uses it: in processes of its own, over real sockets."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import httpx
import pandas as pd
import pytest

from stillset_service.cli import main

STILLSET = [sys.executable, "-c", "from stillset_service.cli import main; main()"]
KEY = re.compile(r"ss_[0-9a-f-]+_[\w-]+")
GIVE_UP_S = 120
"""A process that has not answered by then hangs; no test measures how long it takes."""


def a_set(number: int, athlete: str = "MB-07", **members: object) -> dict[str, object]:
    return {
        "client_ref": f"set-{number:04d}",
        "athlete": athlete,
        "performed_at": f"2026-{1 + number // 28:02d}-{1 + number % 28:02d}T17:00:00Z",
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60},
        "instrument": {"kind": "fixed-frame"},
        "unit": "N",
        "intended_percent": 100,
        "reps": [{"direction": "squeeze", "hold_s": 5, "left": {"peak": 300}, "right": {"peak": 290}}],
        **members,
    }


class Terminal:
    """Runs commands on one database."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.database = f"sqlite:///{folder / 'club.db'}"
        self.environment = {name: value for name, value in os.environ.items() if not name.startswith("STILLSET_")}

    def run(self, *arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*STILLSET, *arguments],
            input=stdin,
            capture_output=True,
            text=True,
            timeout=GIVE_UP_S,
            cwd=self.folder,
            env=self.environment,
            check=False,
        )

    def key(self, *options: str) -> str:
        made = self.run("key", "create", "--database", self.database, *options)
        assert made.returncode == 0, made.stderr
        return made.stdout.strip()

    def write(self, name: str, lines: Sequence[object]) -> str:
        (self.folder / name).write_text(
            "\n".join(line if isinstance(line, str) else json.dumps(line) for line in lines)
        )
        return name

    @contextmanager
    def started(self, *arguments: str) -> Iterator[tuple["subprocess.Popen[str]", str]]:
        process = subprocess.Popen(
            [*STILLSET, *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=self.folder,
            env=self.environment,
        )
        try:
            assert process.stderr is not None
            yield process, process.stderr.readline()
        finally:
            process.send_signal(signal.SIGTERM)
            process.communicate(timeout=GIVE_UP_S)

    @contextmanager
    def service(self) -> Iterator[str]:
        """Serve on a free port, and give the address."""
        with self.started("serve", "--database", self.database, "--port", "0") as (_, said):
            address = said.split()[-1].rstrip("/")
            wait_for(f"{address}/readyz")
            yield address


def wait_for(address: str) -> None:
    give_up = time.monotonic() + GIVE_UP_S
    while time.monotonic() < give_up:
        try:
            if httpx.get(address, timeout=GIVE_UP_S).status_code == 200:
                return
        except httpx.TransportError:
            continue
    pytest.fail(f"{address} never answered")


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    return Terminal(tmp_path)


@pytest.fixture
def here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """Run a command in this process, where it does not go far: exit code, stdout and stderr."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["stillset", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        return int(str(ended.value.code)), *capsys.readouterr()

    return run


@pytest.fixture
def club(terminal: Terminal) -> Iterator[tuple[Terminal, str, str]]:
    """Give a terminal, the address of a running service with one athlete, and its key."""
    key = terminal.key()
    with terminal.service() as address:
        made = httpx.post(f"{address}/v1/athletes", json={"ref": "MB-07"}, headers={"Authorization": f"Bearer {key}"})
        assert made.status_code == 201, made.text
        httpx.put(
            f"{address}/v1/athletes/MB-07/standard-position",
            json={
                "position": {"name": "supine-bent-knee", "knee_angle_deg": 60},
                "instrument_kind": "fixed-frame",
                "valid_from": "2026-01-01",
            },
            headers={"Authorization": f"Bearer {key}"},
        ).raise_for_status()
        yield terminal, address, key


def test_key_create_prints_the_key_and_nothing_else(terminal: Terminal) -> None:
    made = terminal.run("key", "create", "--database", terminal.database, "--name", "gym app", "--scope", "sets:write")
    assert KEY.fullmatch(made.stdout.rstrip("\n"))
    assert made.stderr == ""
    assert made.returncode == 0


def test_keys_are_listed_with_their_scopes_and_can_be_revoked(terminal: Terminal) -> None:
    key = terminal.key("--name", "gym app", "--scope", "sets:write", "--scope", "read")
    key_id = key.split("_")[1]
    listed = terminal.run("key", "list", "--database", terminal.database)
    assert key_id in listed.stdout
    assert "sets:write read" in listed.stdout
    assert key.split("_", 2)[2] not in listed.stdout
    assert terminal.run("key", "revoke", key_id, "--database", terminal.database).returncode == 0
    again = terminal.run("key", "revoke", key, "--database", terminal.database)
    assert again.returncode == 2
    assert again.stderr.count("\n") == 1


def test_a_first_serve_prints_one_key_that_works_and_a_second_prints_none(terminal: Terminal) -> None:
    for expected in (1, 0):
        with terminal.started("serve", "--database", terminal.database, "--port", "0") as (process, said):
            address = said.split()[-1].rstrip("/")
            assert address.startswith("http://127.0.0.1:")
            wait_for(f"{address}/readyz")
            if expected:
                assert process.stdout is not None
                (key,) = KEY.findall(process.stdout.readline())
            answer = httpx.get(f"{address}/v1/athletes", headers={"Authorization": f"Bearer {key}"}, timeout=GIVE_UP_S)
            assert answer.status_code == 200
            process.send_signal(signal.SIGTERM)
            rest, _ = process.communicate(timeout=GIVE_UP_S)
            assert KEY.findall(rest) == []
            assert process.returncode == 0


def test_a_file_is_loaded_and_seen_the_second_time(club: tuple[Terminal, str, str]) -> None:
    terminal, address, key = club
    file = terminal.write("sets.ndjson", [a_set(number) for number in range(30)])
    for outcome in ("stored", "seen"):
        loaded = terminal.run("load", file, "--url", address, "--key", key)
        assert loaded.stdout == f"30 sets: 30 {outcome}.\n"
        assert loaded.stderr == ""
        assert loaded.returncode == 0


def test_a_load_names_what_was_refused_and_exits_with_1(club: tuple[Terminal, str, str]) -> None:
    terminal, address, key = club
    lines = [
        a_set(1),
        a_set(1, note="other"),
        "{broken",
        a_set(2, athlete="nobody"),
        a_set(3, unit="[stone]"),
        a_set(4),
    ]
    loaded = terminal.run("load", terminal.write("sets.ndjson", lines), "--url", address, "--key", key)
    assert loaded.returncode == 1
    assert loaded.stdout.splitlines()[-1] == "6 sets: 2 stored, 1 conflict, 3 invalid."
    for word in ("/note", "nobody", "[stone]", "/unit", "set-0003"):
        assert word in loaded.stdout, loaded.stdout


def test_check_shows_standings_and_reasons_and_stores_nothing(club: tuple[Terminal, str, str]) -> None:
    terminal, address, key = club
    file = terminal.write(
        "sets.json", [json.dumps([a_set(1), a_set(2, purpose="warm-up"), a_set(3, intended_percent=70)])]
    )
    checked = terminal.run("check", file, "--url", address, "--key", key)
    assert checked.returncode == 0, checked.stderr
    for word in ("set-0001", "counts", "set_aside", "at_least", "squeeze"):
        assert word in checked.stdout
    assert checked.stdout.splitlines()[-1] == "3 sets: 3 new."
    rows = httpx.get(f"{address}/v1/athletes/MB-07/sets", headers={"Authorization": f"Bearer {key}"}, timeout=GIVE_UP_S)
    assert rows.json()["items"] == []


def test_a_file_is_loaded_straight_into_a_database_and_exported_from_it(club: tuple[Terminal, str, str]) -> None:
    terminal, address, key = club
    file = terminal.write("sets.ndjson", [a_set(number) for number in range(8)])
    loaded = terminal.run("load", "-", "--database", terminal.database, stdin=(terminal.folder / file).read_text())
    assert loaded.returncode == 0, loaded.stderr
    doors = (("--database", terminal.database), ("--url", address, "--key", key, "--athlete", "MB-07"))
    readers = {"csv": pd.read_csv, "parquet": pd.read_parquet, "json": pd.read_json}
    for (name, read), door in zip(readers.items(), (*doors, doors[0]), strict=True):
        exported = terminal.run("export", "tables", "--format", name, *door)
        assert exported.returncode == 0, exported.stderr
        assert f"tables/readings.{name}" in exported.stdout.splitlines()
        readings = read(terminal.folder / "tables" / f"readings.{name}")
        assert list(readings["left"]) == [300] * 8
        assert set(readings["athlete"]) == {"MB-07"}
        trend = read(terminal.folder / "tables" / f"trend.{name}")
        assert list(trend["direction"] + " " + trend["side"]) == [
            *("squeeze left", "squeeze right"),
            *("spread left", "spread right"),
        ]


def test_a_rebuild_counts_everything_and_changes_nothing(club: tuple[Terminal, str, str]) -> None:
    terminal, address, key = club
    terminal.run("load", terminal.write("sets.ndjson", [a_set(n) for n in range(9)]), "--url", address, "--key", key)
    headers = {"Authorization": f"Bearer {key}"}
    views = ("sets", "readings", "trend?history=true", "balance", "load")
    before = [
        httpx.get(f"{address}/v1/athletes/MB-07/{view}", headers=headers, timeout=GIVE_UP_S).text for view in views
    ]
    rebuilt = terminal.run("rebuild", "--database", terminal.database)
    assert rebuilt.stdout == "1 athletes, 9 sets, 9 readings; 0 records changed.\n"
    after = [
        httpx.get(f"{address}/v1/athletes/MB-07/{view}", headers=headers, timeout=GIVE_UP_S).text for view in views
    ]
    assert before == after


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("load", "none.ndjson", "--key", "k"), 2),
        (("load", "sets.ndjson"), 2),
        (("load", "sets.ndjson", "--url", "http://127.0.0.1:9", "--key", "k"), 3),
        (("load", "sets.ndjson", "--database", "nonsense"), 2),
        (("serve", "--database", "mysql://host/name", "--port", "0"), 2),
        (("serve", "--database", "sqlite:////dev/null/club.db", "--port", "0"), 3),
        (("key", "create", "--scope", "everything"), 2),
        (("key", "list", "--club", "none", "--database", "sqlite:///other.db"), 2),
        (("serve", "--bogus"), 2),
        (("bogus",), 2),
    ],
)
def test_a_failure_is_one_line_on_stderr_and_an_exit_code(
    terminal: Terminal, here: Callable[..., tuple[int, str, str]], arguments: Sequence[str], code: int
) -> None:
    terminal.write("sets.ndjson", [a_set(1)])
    ended, said, complained = here(*arguments)
    assert ended == code, complained
    assert said == ""
    assert complained.startswith("stillset: ")
    assert complained.count("\n") == 1


def test_a_key_that_is_refused_exits_with_3(club: tuple[Terminal, str, str]) -> None:
    terminal, address, _ = club
    refused = terminal.run("load", terminal.write("sets.ndjson", [a_set(1)]), "--url", address, "--key", "ss_0_0")
    assert refused.returncode == 3
    assert "401" in refused.stderr


@pytest.mark.parametrize("arguments", [(), ("key",)])
def test_what_does_nothing_alone_shows_its_help(
    here: Callable[..., tuple[int, str, str]], arguments: list[str]
) -> None:
    ended, said, complained = here(*arguments)
    assert (ended, complained) == (0, "")
    assert said.splitlines()[0].startswith("Usage: stillset")


@pytest.mark.parametrize("command", [["rebuild"], ["key", "list"], ["key", "revoke", "0"]], ids=" ".join)
def test_a_mistyped_file_is_no_wish_for_an_empty_store(
    terminal: Terminal, here: Callable[..., tuple[int, str, str]], command: list[str]
) -> None:
    ended, _, complained = here(*command, "--database", f"sqlite:///{terminal.folder / 'clbu.db'}")
    assert ended == 2
    assert "clbu.db" in complained
    assert not list(terminal.folder.iterdir())


def test_an_address_without_its_scheme_is_named_before_anybody_is_asked(
    terminal: Terminal, here: Callable[..., tuple[int, str, str]]
) -> None:
    file = terminal.folder / terminal.write("sets.ndjson", [a_set(1)])
    ended, _, complained = here("check", str(file), "--url", "127.0.0.1:8000", "--key", "k")
    assert ended == 2
    assert "http://" in complained


def test_a_port_in_use_is_said_before_anything_is_made(club: tuple[Terminal, str, str]) -> None:
    terminal, address, _ = club
    failed = terminal.run("serve", "--database", "sqlite:///second.db", "--port", address.rsplit(":", 1)[1])
    assert failed.returncode == 2
    assert failed.stderr.count("\n") == 1
    assert "--port" in failed.stderr
    assert not (terminal.folder / "second.db").exists()


COMMANDS = [
    *(["demo"], ["serve"], ["load"], ["check"], ["rebuild"], ["export"]),
    *(["key", "create"], ["key", "list"], ["key", "revoke"]),
]


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_command_has_help_with_an_example(here: Callable[..., tuple[int, str, str]], command: list[str]) -> None:
    ended, said, _ = here(*command, "--help")
    assert ended == 0
    assert f"  stillset {' '.join(command)}" in said.partition("Example:")[2]


def test_the_demo_serves_the_season_with_the_key_that_it_prints(terminal: Terminal) -> None:
    with terminal.started("demo", "--port", "0", "--no-browser") as (process, _):
        assert process.stdout is not None
        (key,) = KEY.findall(process.stdout.readline())
        address = process.stdout.readline().split()[-1].rstrip("/")
        board = httpx.get(
            f"{address}/v1/squads/first-team/board", headers={"Authorization": f"Bearer {key}"}, timeout=GIVE_UP_S
        )
        rows = board.json()["items"]
        assert len(rows) == 28
        assert all(row["load"] is not None for row in rows)
        assert "falling" in {state for row in rows for sides in row["states"].values() for state in sides.values()}
