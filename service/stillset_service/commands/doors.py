"""Two doors to the same API: a running service by its address, or a database through the service in this process."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass

import anyio
import httpx

from stillset_service.auth.keys import DEFAULT_CLUB, new_key
from stillset_service.auth.scopes import Scope
from stillset_service.commands.console import CommandError, ExitCode
from stillset_service.commands.keeping import made
from stillset_service.settings import Settings
from stillset_service.store import clubs, keys
from stillset_service.store.engine import Store

__all__ = ["Door", "asked"]

ATTEMPTS = 6
FIRST_PAUSE_S = 0.25
LONGEST_PAUSE_S = 10.0
"""A request that fails in passing is tried again; every request of the command line is safe to repeat."""

_PASSING = frozenset({429, 502, 503, 504})


@dataclass(frozen=True, slots=True)
class Door:
    """Where to knock: the address and key of a running service, or else a database and a club in it."""

    url: str | None = None
    key: str | None = None
    database: str | None = None
    club: str = DEFAULT_CLUB

    @asynccontextmanager
    async def open(self) -> AsyncIterator[httpx.AsyncClient]:
        """Open a client of the API."""
        if self.database is not None:
            async with _within(self.database, self.club) as client:
                yield client
            return
        if not self.key:
            raise CommandError("A running service needs a key: --key or STILLSET_KEY.")
        if not (self.url or "").startswith(("http://", "https://")):
            raise CommandError(f"The address of a service begins with http:// or https://; given: {self.url}")
        headers = {"Authorization": f"Bearer {self.key}"}
        async with httpx.AsyncClient(base_url=self.url or "", headers=headers, timeout=120) as client:
            yield client


@asynccontextmanager
async def _within(database: str, club: str) -> AsyncIterator[httpx.AsyncClient]:
    app = made(Settings(database_url=database))
    store: Store = app.state.store
    async with app.router.lifespan_context(app):
        with store.write() as connection:
            club_id = clubs.ensure(connection, club)
            key_id, key = new_key(connection, club_id, "command line", Scope)
        client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app=app, raise_app_exceptions=False),
            base_url="http://stillset",
            headers={"Authorization": f"Bearer {key}"},
        )
        try:
            async with client:
                yield client
        finally:
            with store.write() as connection:
                keys.revoke(connection, club_id, key_id)


async def asked(client: httpx.AsyncClient, request: httpx.Request) -> httpx.Response:
    """Send a request until it is answered, and give an answer that is a success.

    Raises
    ------
    CommandError
        When the service stays away, or refuses.
    """
    pause_s = FIRST_PAUSE_S
    for attempt in range(1, ATTEMPTS + 1):
        try:
            answer = await client.send(request)
        except httpx.TransportError as error:
            if attempt == ATTEMPTS:
                reason = str(error) or type(error).__name__
                raise CommandError(
                    f"No answer from {client.base_url}: {reason}. Is the service running?", ExitCode.UNREACHABLE
                ) from error
        else:
            if answer.status_code not in _PASSING or attempt == ATTEMPTS:
                return _good(answer)
        await anyio.sleep(pause_s)
        pause_s = min(2 * pause_s, LONGEST_PAUSE_S)
    raise AssertionError("unreachable")


def _good(answer: httpx.Response) -> httpx.Response:
    if answer.is_success:
        return answer
    try:
        detail = str(answer.json()["detail"])
    except (ValueError, KeyError, TypeError):
        detail = answer.reason_phrase
    is_about_the_key = answer.status_code in {401, 403}
    code = ExitCode.UNREACHABLE if is_about_the_key or answer.is_server_error else ExitCode.USAGE
    raise CommandError(f"{answer.status_code} from {answer.request.url.path}: {detail}", code)
