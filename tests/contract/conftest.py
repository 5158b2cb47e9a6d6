"""A running service for the tests of the API contract, and a club of its own for each of them."""

from collections.abc import Iterator

import httpx
import pytest
from outsider import Club, Server


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    running = Server(tmp_path_factory.mktemp("contract"))
    running.start()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def key(server: Server) -> str:
    return server.key("sets:write", "read", "manage")


@pytest.fixture
def api(server: Server, key: str) -> Iterator[httpx.Client]:
    with server.client(key) as client:
        yield client


@pytest.fixture(scope="module")
def module_key(server: Server, request: pytest.FixtureRequest) -> str:
    slug = request.module.__name__.rpartition(".")[2].replace("_", "-")
    return server.key("sets:write", "read", "manage", club=slug)


_clubs = iter(range(1, 10**6))


@pytest.fixture
def club(server: Server, module_key: str) -> Iterator[Club]:
    """A club that the tests of a module share, with the default protocol and athletes of one's own."""
    with server.client(module_key) as client:
        yield Club(client, f"T{next(_clubs)}")
        assert client.put("/v1/protocol", json={}).status_code == 200


@pytest.fixture
def own_club(server: Server) -> Iterator[Club]:
    """A club that holds nothing but what the test puts there."""
    name = f"own-{next(_clubs)}"
    with server.client(server.key("sets:write", "read", "manage", club=name)) as client:
        yield Club(client, name)
