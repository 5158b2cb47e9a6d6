"""Run the service in this process."""

import errno
import signal
import socket
from dataclasses import replace
from urllib.parse import quote

import uvicorn
from fastapi import FastAPI

from stillset_service.auth.keys import DEFAULT_CLUB, create_key
from stillset_service.auth.scopes import Scope
from stillset_service.commands.console import CommandError, ExitCode
from stillset_service.settings import Settings
from stillset_service.store import keys
from stillset_service.store.engine import Store

__all__ = ["address_of", "first_key", "listen", "run", "stop_in_order"]

BACKLOG = 2048


def listen(settings: Settings) -> tuple[socket.socket, Settings]:
    """Take the port before anything else, so that a port in use costs no waiting; port 0 takes a free one.

    Raises
    ------
    CommandError
        When the port is in use, or the host is not of this machine.
    """
    try:
        family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
        taken = socket.create_server((settings.host, settings.port), family=family, backlog=BACKLOG)
    except (OSError, OverflowError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).partition(" (while")[0]
        advice = " Another port can be given with --port." if getattr(error, "errno", None) == errno.EADDRINUSE else ""
        raise CommandError(f"Cannot listen on {settings.host} port {settings.port}: {reason}.{advice}") from error
    return taken, replace(settings, port=taken.getsockname()[1])


def stop_in_order() -> None:
    """Make a request to end the process an exception, so that everything opened meanwhile is closed."""
    signal.signal(signal.SIGTERM, signal.default_int_handler)


def address_of(settings: Settings, path: str = "/") -> str:
    """Return the address of a page of the service."""
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    return f"http://{host}:{settings.port}{quote(path)}"


def first_key(store: Store) -> str | None:
    """Make the first key of a service that has none, for everything; None for a service that has one."""
    with store.read() as connection:
        if keys.any_made(connection):
            return None
    return create_key(store, DEFAULT_CLUB, "first key", Scope)


def run(app: FastAPI, listening: socket.socket) -> None:
    """Serve until the process is told to stop."""
    config = uvicorn.Config(app, log_level="warning", access_log=False)
    server = uvicorn.Server(config)
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:
        # Asked to stop from the keyboard, and stopped: nothing went wrong.
        return
    if not server.started:
        raise CommandError("The service could not start.", ExitCode.UNREACHABLE)
