"""Clients that hang, hurry, lie or talk nonsense on the socket: the service stays up for everybody else."""

import json
import socket
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest
from odd import full_set, text_of
from outsider import Club, Server

MEBIBYTE = 1024 * 1024


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    running = Server(tmp_path_factory.mktemp("sockets"))
    running.start()
    yield running
    assert running.process is not None
    assert running.process.poll() is None
    running.stop()


@pytest.fixture(scope="module")
def key(server: Server) -> str:
    made = server.key("sets:write", "read", "manage")
    with server.client(made) as api:
        Club(api, "S").athlete("A-01")
    return made


def _dial(server: Server) -> socket.socket:
    return socket.create_connection(("127.0.0.1", server.port), timeout=30)


def _heard(line: socket.socket) -> bytes:
    """Read until the server hangs up."""
    parts = []
    while True:
        try:
            part = line.recv(65_536)
        except ConnectionResetError:
            break
        if not part:
            break
        parts.append(part)
    return b"".join(parts)


def _head(key: str, *lines: str, path: str = "/v1/sets", method: str = "POST") -> bytes:
    fixed = [f"{method} {path} HTTP/1.1", "Host: 127.0.0.1", f"Authorization: Bearer {key}"]
    return "\r\n".join([*fixed, *lines, "", ""]).encode("latin-1")


def _is_well(server: Server, key: str, number: int) -> None:
    with server.client(key) as api:
        assert api.get("/readyz").status_code == 200
        assert api.post("/v1/sets", json=full_set(client_ref=f"well-{number}")).status_code in {200, 201}


NONSENSE = [
    b"\r\n\r\n\r\n",
    b"\0" * 1000,
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
    b"HELO mail.example\r\n",
    b"GET\r\n\r\n",
    b"GET / HTTP/9.9\r\n\r\n",
    b"GET / HTTP/1.1\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: [\r\nConnection: close\r\n\r\n",
    b"GET /v1/athletes/%00 HTTP/1.1\r\nHost: ]\r\nConnection: close\r\n\r\n",
    b"GET http://elsewhere.example/v1/athletes HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n",
    b"GET //[/v1 HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n",
    b"CONNECT a:1 HTTP/1.1\r\nHost: a\r\n\r\n",
    b"OPTIONS * HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n",
    b"GET /" + b"a" * 200_000 + b" HTTP/1.1\r\nHost: a\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: a\r\nX: " + b"a" * 200_000 + b"\r\n\r\n",
    b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 50_000 + b"\r\n",
    b"POST /v1/sets HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n{}",
    b"POST /v1/sets HTTP/1.1\r\nHost: a\r\nContent-Length: 99999999999999999999\r\n\r\n{}",
    b"POST /v1/sets HTTP/1.1\r\nHost: a\r\nContent-Length: 2\r\nContent-Length: 3\r\n\r\n{}",
    b"POST /v1/sets HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\nContent-Length: 2\r\n\r\nzz\r\n{}",
    b"POST /v1/sets HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nffffffffffffffffff\r\n{}",
    b"GET /v1/athletes HTTP/1.1\r\nHost: a\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
    b"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n",
    b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
]


@pytest.mark.parametrize("number", range(len(NONSENSE)))
def test_nonsense_is_refused_and_harms_nobody(server: Server, key: str, number: int) -> None:
    with _dial(server) as line:
        try:
            line.sendall(NONSENSE[number])
            line.shutdown(socket.SHUT_WR)
        except (BrokenPipeError, ConnectionResetError):
            pass  # Refused before it was all said.
        answer = _heard(line)
    statuses = [part[:3] for part in answer.split(b"HTTP/1.1 ")[1:]]
    assert all(status < b"500" for status in statuses), answer[:1000]
    _is_well(server, key, number)


def test_connections_that_say_nothing_or_half_keep_nobody_waiting(server: Server, key: str) -> None:
    beginnings = [
        b"",
        b"GET /v1/ath",
        _head(key, "Content-Type: application/json", "Content-Length: 1000"),
        _head(key, "Content-Type: application/json", "Content-Length: 1000") + b'{"client_ref": ',
        _head(key, "Content-Type: application/x-ndjson", "Transfer-Encoding: chunked", path="/v1/sets/batch")
        + b"5\r\n{",
    ]
    lines = [_dial(server) for _ in range(40) for _ in beginnings]
    try:
        for place, line in enumerate(lines):
            line.sendall(beginnings[place % len(beginnings)])
        _is_well(server, key, 1000)
    finally:
        for line in lines:
            line.close()
    _is_well(server, key, 1001)


def test_a_body_that_comes_byte_by_byte_is_read(server: Server, key: str) -> None:
    body = text_of(full_set(client_ref="slow"))
    with _dial(server) as line:
        line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        line.sendall(_head(key, "Content-Type: application/json", f"Content-Length: {len(body)}", "Connection: close"))
        for byte in body:
            line.sendall(bytes([byte]))
        assert _heard(line).startswith(b"HTTP/1.1 201")


@pytest.mark.parametrize("path", ["/v1/sets", "/v1/sets/batch", "/v1/athletes", "/nowhere"])
def test_a_body_given_up_halfway_is_not_stored(server: Server, key: str, path: str) -> None:
    document = full_set(client_ref=f"halfway-{path}")
    body = text_of([document] if path.endswith("batch") else document)
    with _dial(server) as line:
        line.sendall(_head(key, "Content-Type: application/json", f"Content-Length: {len(body) + 1}", path=path) + body)
        line.shutdown(socket.SHUT_WR)
        _heard(line)
    with server.client(key) as api:
        assert api.post("/v1/sets", json=document).status_code == 201


def _memory(server: Server) -> int:
    assert server.process is not None
    status = Path(f"/proc/{server.process.pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) * 1024


@pytest.mark.parametrize("path", ["/v1/sets", "/v1/sets/batch", "/v1/athletes", "/v1/nowhere"])
@pytest.mark.parametrize("framing", ["Content-Length: 104857600", "Transfer-Encoding: chunked"])
def test_a_body_of_100_megabytes_is_refused_and_not_gathered(server: Server, key: str, path: str, framing: str) -> None:
    _is_well(server, key, 2000)
    before = _memory(server)
    piece = b" " * MEBIBYTE
    with _dial(server) as line:
        line.sendall(_head(key, "Content-Type: application/json", framing, "Connection: close", path=path))
        try:
            for _ in range(100):
                line.sendall(b"100000\r\n" + piece + b"\r\n" if "chunked" in framing else piece)
            line.sendall(b"0\r\n\r\n" if "chunked" in framing else b"")
        except (BrokenPipeError, ConnectionResetError):
            pass  # Hung up on, which is as good.
        answer = _heard(line)
    # Whoever sends on after the answer may find the connection reset before having read it.
    if answer:
        head, _, said = answer.partition(b"\r\n\r\n")
        expected = b"404" if path.endswith("nowhere") else b"413"
        assert head.startswith(b"HTTP/1.1 " + expected), head
        assert json.loads(said)["status"] == int(expected)
    assert _memory(server) - before < 80 * MEBIBYTE
    _is_well(server, key, 2001)


def test_requests_sent_ahead_are_answered_in_order_up_to_the_nonsense_among_them(server: Server, key: str) -> None:
    documents = [text_of(full_set(client_ref=f"ahead-{number}")) for number in range(20)]
    sent = b"".join(
        _head(key, "Content-Type: application/json", f"Content-Length: {len(body)}") + body for body in documents
    )
    with _dial(server) as line:
        line.sendall(sent + b"\0junk\r\n\r\n" + sent)
        line.shutdown(socket.SHUT_WR)
        answer = _heard(line)
    stored = [part for part in answer.split(b"HTTP/1.1 ") if part.startswith(b"201")]
    refs = [json.loads(part.partition(b"\r\n\r\n")[2])["client_ref"] for part in stored]
    assert refs == [f"ahead-{number}" for number in range(len(refs))]
    with server.client(key) as api:
        statuses = [api.post("/v1/sets", content=body, headers=_JSON).status_code for body in documents]
    assert all(status == 200 for status in statuses[: len(refs)])
    _is_well(server, key, 3000)


_JSON = {"Content-Type": "application/json"}


def test_a_storm_of_good_and_bad_requests_is_answered_one_by_one(server: Server, key: str) -> None:
    requests = [
        (f"storm-{number // 3}", text_of(full_set(client_ref=f"storm-{number // 3}", rpe=9 if number % 3 else 99)))
        for number in range(150)
    ]
    lock, first = threading.Lock(), {}

    def post(request: tuple[str, bytes]) -> None:
        ref, body = request
        with server.client(key) as api:
            answer = api.post("/v1/sets", content=body, headers=_JSON)
        if b'"rpe": 99' in body:
            assert answer.status_code == 422
            return
        assert answer.status_code in {200, 201}, answer.text
        with lock:
            assert first.setdefault(ref, answer.content) == answer.content

    with ThreadPoolExecutor(16) as pool:
        list(pool.map(post, requests))
    assert len(first) == 50
    with httpx.Client() as anybody:
        assert anybody.get(f"{server.url}/healthz").status_code == 200
