"""A PostgreSQL of the tests' own."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

__all__ = ["PostgresCluster", "postgres", "postgres_binaries"]


def postgres_binaries() -> Path | None:
    """Find the folder of initdb and pg_ctl: the newest that Debian keeps, or that on the path."""
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    found = str(places[-1]) if places else shutil.which("initdb")
    return None if found is None else Path(found).parent


class PostgresCluster:
    """A PostgreSQL of our own on a free port; as root it runs as the user postgres, for it refuses to run as root."""

    def __init__(self, binaries: Path) -> None:
        self.binaries = binaries
        self.folder = Path(tempfile.mkdtemp(prefix="stillset-postgres-"))
        self.as_user: list[str] = []
        self.user = "stillset"
        if os.geteuid() == 0:
            shutil.chown(self.folder, "postgres", "postgres")
            self.as_user = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])

    def run(self, program: str, *arguments: str) -> None:
        command = [*self.as_user, str(self.binaries / program), *arguments]
        subprocess.run(command, check=True, capture_output=True, cwd=self.folder)

    def start(self) -> None:
        data = str(self.folder / "data")
        self.run("initdb", "-D", data, "-U", self.user, "-A", "trust", "-E", "UTF8", "--no-sync")
        self.serve()

    def serve(self) -> None:
        data = str(self.folder / "data")
        options = f"-p {self.port} -k {self.folder} -c listen_addresses=127.0.0.1 -c fsync=off -c max_connections=60"
        self.run("pg_ctl", "-D", data, "-l", str(self.folder / "log"), "-w", "-o", options, "start")

    def stop_serving(self) -> None:
        self.run("pg_ctl", "-D", str(self.folder / "data"), "-m", "immediate", "stop")

    def stop(self) -> None:
        self.stop_serving()
        shutil.rmtree(self.folder)

    def new_database(self, name: str) -> str:
        server = f"postgresql://{self.user}@127.0.0.1:{self.port}"
        with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return f"{server}/{name}"


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresCluster]:
    binaries = postgres_binaries()
    if binaries is None:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL is not installed: its half of the tests cannot run.")
        pytest.skip("PostgreSQL is not installed.")
    cluster = PostgresCluster(binaries)
    cluster.start()
    yield cluster
    cluster.stop()
