"""The Python client against a scripted service."""

import gzip
import json
from collections.abc import Callable

import httpx
import pytest

import stillset_client
from stillset_client import Client, Conflict, NotAllowed, Refused, ServiceFault, Unreachable

Handler = Callable[[httpx.Request], httpx.Response]


def client(handler: Handler, waited: list[float] | None = None, tries: int = 3) -> Client:
    pauses: list[float] = [] if waited is None else waited
    return Client("http://service", "k", transport=httpx.MockTransport(handler), sleep=pauses.append, tries=tries)


def problem(status: int, **members: object) -> httpx.Response:
    return httpx.Response(status, json={"status": status, "title": "Refused", "errors": [], **members})


def test_a_set_is_posted_with_the_key() -> None:
    def handler(request: httpx.Request) -> httpx.Response:
        assert request.headers["Authorization"] == "Bearer k"
        assert request.headers["Content-Type"] == "application/json"
        return httpx.Response(201, json={"id": "1", "sent": json.loads(request.content)})

    assert client(handler).post_set({"client_ref": "a"}) == {"id": "1", "sent": {"client_ref": "a"}}


def test_a_lost_connection_is_tried_again_with_the_same_body() -> None:
    bodies: list[bytes] = []

    def handler(request: httpx.Request) -> httpx.Response:
        bodies.append(request.content)
        if len(bodies) < 3:
            raise httpx.ConnectError("gone")
        return httpx.Response(200, json={})

    waited: list[float] = []
    client(handler, waited).post_set({"client_ref": "a"})
    assert len(set(bodies)) == 1
    assert len(waited) == 2


def test_a_refusal_without_fields_says_why() -> None:
    with pytest.raises(NotAllowed, match="needs a valid key"):
        client(lambda _: problem(401, detail="This needs a valid key.")).post_set({})


@pytest.mark.parametrize("address", ["127.0.0.1:8000", "ftp://service"])
def test_an_address_without_its_scheme_is_named_at_once(address: str) -> None:
    with pytest.raises(ValueError, match="http://"):
        Client(address, "k")


def test_a_busy_service_says_how_long_to_wait() -> None:
    answers = iter([httpx.Response(503, headers={"Retry-After": "7"}), httpx.Response(200, json={})])
    waited: list[float] = []
    client(lambda _: next(answers), waited).get("/v1/protocol")
    assert waited == [7.0]


def test_a_service_that_never_answers_is_unreachable() -> None:
    def handler(request: httpx.Request) -> httpx.Response:
        raise httpx.ConnectError("gone")

    with pytest.raises(Unreachable) as caught:
        client(handler).get("/v1/protocol")
    assert caught.value.retryable


@pytest.mark.parametrize(
    ("status", "kind"), [(409, Conflict), (401, NotAllowed), (403, NotAllowed), (422, Refused), (500, ServiceFault)]
)
def test_a_refusal_is_not_repeated_and_names_the_field(status: int, kind: type[Exception]) -> None:
    calls: list[int] = []

    def handler(request: httpx.Request) -> httpx.Response:
        calls.append(1)
        return problem(status, errors=[{"pointer": "/rpe", "code": "too-large", "detail": "at most 10"}])

    with pytest.raises(kind, match="/rpe: at most 10"):
        client(handler).post_set({})
    assert len(calls) == 1


def test_many_sets_go_in_batches_and_keep_their_index() -> None:
    sizes: list[int] = []

    def handler(request: httpx.Request) -> httpx.Response:
        lines = gzip.decompress(request.content).splitlines()
        sizes.append(len(lines))
        results = [
            {
                "index": i,
                "client_ref": json.loads(line)["client_ref"],
                "outcome": "stored",
                "id": "x",
                "standings": [],
                "problem": None,
            }
            for i, line in enumerate(lines)
        ]
        return httpx.Response(200, json={"results": results, "counts": {}})

    results = list(client(handler).post_sets({"client_ref": str(i)} for i in range(1203)))
    assert sizes == [500, 500, 203]
    assert [result.index for result in results] == list(range(1203))
    assert [result.client_ref for result in results] == [str(i) for i in range(1203)]


def test_rows_follow_the_pages() -> None:
    def handler(request: httpx.Request) -> httpx.Response:
        if "cursor" in request.url.params:
            return httpx.Response(200, json={"items": [{"n": 2}]})
        link = '<http://service/v1/x?cursor=abc&limit=1>; rel="next"'
        return httpx.Response(200, json={"items": [{"n": 1}]}, headers={"Link": link})

    assert [row["n"] for row in client(handler).rows("/v1/x", limit=1)] == [1, 2]


def test_the_public_names_are_sorted_and_there() -> None:
    assert stillset_client.__all__ == sorted(stillset_client.__all__)
    assert all(hasattr(stillset_client, name) for name in stillset_client.__all__)
