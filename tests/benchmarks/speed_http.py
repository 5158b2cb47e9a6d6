"""Server processes and the load client of the speed benchmark.

The client writes prepared bytes to keep-alive connections and looks for nothing in an answer but its status and
its length: a protocol of asyncio on uvloop, far cheaper than any server it is pointed at.
"""

import asyncio
import json
import re
import socket
import subprocess
import sys
import time
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryFile

import uvloop

__all__ = ["Answers", "Request", "Target", "bare_handler", "load", "request", "service"]

_LENGTH = re.compile(rb"\r\ncontent-length: *(\d+)", re.IGNORECASE)
STARTS_WITHIN_S = 120


@dataclass(frozen=True, slots=True)
class Target:
    """A server on 127.0.0.1; ``key`` goes with every request."""

    port: int
    key: str = ""


@dataclass(frozen=True, slots=True)
class Request:
    """A request ready to be written, and the status that its answer must have."""

    sent: bytes
    status: int


@dataclass(frozen=True, slots=True)
class Answers:
    """Bodies of all answers, in order of arrival, and the seconds from the first byte sent to the last answer."""

    bodies: Sequence[bytes]
    seconds: float


def request(target: Target, method: str, path: str, body: bytes = b"", media: str = "application/json") -> Request:
    """Prepare a request."""
    head = (
        f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {target.key}\r\n"
        f"Content-Type: {media}\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    makes_one = method == "POST" and not path.endswith("/batch")
    return Request(head.encode() + body, 201 if makes_one else 200)


def load(target: Target, requests: Sequence[Request], connections: int = 1) -> Answers:
    """Send requests over some connections, on each of them one after the other.

    Raises
    ------
    RuntimeError
        At the first answer of another status than its request expects.
    """
    return uvloop.run(_drive(target, requests, connections))


async def _drive(target: Target, requests: Sequence[Request], connections: int) -> Answers:
    loop = asyncio.get_running_loop()
    waiting, bodies = deque(requests), list[bytes]()
    clients: list[_Client] = []
    for _ in range(connections):
        transport, client = await loop.create_connection(lambda: _Client(waiting, bodies), "127.0.0.1", target.port)
        client.transport = transport
        clients.append(client)
    started = time.perf_counter()
    for client in clients:
        client.send_next()
    try:
        await asyncio.gather(*(client.done for client in clients))
        return Answers(bodies, time.perf_counter() - started)
    finally:
        for client in clients:
            client.close()


class _Client(asyncio.Protocol):
    """One connection, which takes the next request from a common queue once it has its answer."""

    transport: asyncio.Transport

    def __init__(self, waiting: deque[Request], bodies: list[bytes]) -> None:
        self.done: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._waiting, self._bodies = waiting, bodies
        self._got = bytearray()
        self._size = 0
        self._head_size = 0

    def connection_lost(self, exc: Exception | None) -> None:
        if not self.done.done():
            self.done.set_exception(exc or ConnectionError("the server closed the connection"))

    def send_next(self) -> None:
        if not self._waiting:
            self.done.set_result(None)
            return
        self._expected = self._waiting.popleft()
        self._got.clear()
        self._size = 0
        self.transport.write(self._expected.sent)

    def data_received(self, data: bytes) -> None:
        self._got += data
        if not self._size:
            self._head_size = self._got.find(b"\r\n\r\n") + 4
            if self._head_size < 4:
                return
            length = _LENGTH.search(self._got, 0, self._head_size)
            self._size = self._head_size + (int(length[1]) if length else 0)
        if len(self._got) >= self._size:
            self._answered()

    def _answered(self) -> None:
        status, body = int(self._got[9:12]), bytes(self._got[self._head_size :])
        if status != self._expected.status:
            self.done.set_exception(RuntimeError(f"answered {status}: {body[:500]!r}"))
            return
        self._bodies.append(body)
        self.send_next()

    def close(self) -> None:
        if not self.done.done():
            self.done.cancel()
        self.transport.close()


@contextmanager
def bare_handler() -> Iterator[Target]:
    """Run the handler that only validates."""
    target = Target(_free_port())
    with _running(target, [sys.executable, str(Path(__file__).with_name("speed_bare.py")), str(target.port)]):
        yield target


@contextmanager
def service(database: Path) -> Iterator[Target]:
    """Run the service on a SQLite file, with a key for everything; ready means that its engine is compiled."""
    stillset, url = str(Path(sys.executable).with_name("stillset")), f"sqlite:///{database}"
    scopes = [word for scope in ("sets:write", "read", "manage") for word in ("--scope", scope)]
    made = subprocess.run(
        [stillset, "key", "create", "--database", url, "--name", "speed", *scopes],
        capture_output=True,
        text=True,
        check=True,
    )
    target = Target(_free_port(), made.stdout.strip())
    with _running(target, [stillset, "serve", "--database", url, "--port", str(target.port)]):
        yield target


@contextmanager
def _running(target: Target, command: Sequence[str]) -> Iterator[None]:
    with TemporaryFile() as said:
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=said)
        try:
            if not _gets_ready(target, process):
                said.seek(0)
                raise RuntimeError(f"{command[0]} did not start: {said.read().decode()}")
            yield
        finally:
            process.terminate()
            process.wait()


def _gets_ready(target: Target, process: subprocess.Popen[bytes]) -> bool:
    last_call = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < last_call and process.poll() is None:
        time.sleep(0.1)
        try:
            (body,) = load(target, [request(target, "GET", "/readyz")]).bodies
        except OSError:
            continue
        if json.loads(body)["engine"] == "ok":
            return True
    return False


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
