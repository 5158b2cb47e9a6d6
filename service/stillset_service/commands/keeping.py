"""Keep a store: serve it, make and revoke its keys, rebuild what is derived."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from fastapi import FastAPI
from rich.table import Column, Table
from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.app import create_app
from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope
from stillset_service.commands import serving
from stillset_service.commands.console import CommandError, answers, notes, progress
from stillset_service.rebuild import everybody, rebuild_athlete
from stillset_service.settings import Settings
from stillset_service.store import clubs, keys
from stillset_service.store.engine import Store
from stillset_service.warming import kept_warm

__all__ = ["key_table", "made", "new_key", "rebuild", "revoke_key", "serve"]


def serve(settings: Settings) -> None:
    """Run the service; a store without any key gets one, which is printed."""
    serving.stop_in_order()
    listening, settings = serving.listen(settings)
    with listening:
        app = made(settings)
        key = serving.first_key(app.state.store)
        if key is not None:
            answers().print(f"Key: {key}", soft_wrap=True)
        notes().print(f"stillset listens on {serving.address_of(settings)}")
        if key is not None:
            notes().print(
                "Keep the key: it is not shown again. It signs in to the pages there and opens the API.", soft_wrap=True
            )
        with kept_warm(app.state.store):
            serving.run(app, listening)


def new_key(settings: Settings, club: str, name: str, scopes: Sequence[Scope], club_name: str | None) -> str:
    """Make a key of a club, and the club if it is not there; with a name for it, its pages show that from now on."""
    with _opened(settings) as store:
        return create_key(store, club, name, scopes, club_name=club_name)


def rebuild(settings: Settings) -> None:
    """Make everything derived again, and say how much there was and what was not right."""
    as_of = clock.now()
    _must_be_there(settings)
    with _opened(settings) as store, progress() as bar:
        athletes = everybody(store)
        task = bar.add_task("Rebuilding", total=len(athletes))
        rebuilt = []
        for club_id, facts in athletes:
            rebuilt.append(rebuild_athlete(store, club_id, facts, as_of))
            bar.advance(task)
    sets, readings, changed = (sum(getattr(one, name) for one in rebuilt) for name in ("sets", "readings", "changed"))
    answers().print(f"{len(athletes)} athletes, {sets} sets, {readings} readings; {changed} records changed.")


def key_table(settings: Settings, club: str) -> Table:
    """List the keys of a club."""
    _must_be_there(settings)
    table = Table(Column("id", no_wrap=True), "name", "scopes", "made", "revoked")
    with _opened(settings) as store, store.read() as connection:
        found = keys.listed(connection, _club_id(connection, club))
    for key in found:
        revoked = "" if key.revoked_us is None else clock.spelled(key.revoked_us)
        table.add_row(key.id, key.name, key.scopes, clock.spelled(key.created_us), revoked)
    return table


def revoke_key(settings: Settings, club: str, key: str) -> None:
    """Revoke a key, named by its id or by itself.

    Raises
    ------
    CommandError
        When the club has no such key in use.
    """
    _must_be_there(settings)
    parts = key.split("_", 2)
    key_id = parts[1] if len(parts) > 1 else key
    with _opened(settings) as store, store.write() as connection:
        if not keys.revoke(connection, _club_id(connection, club), key_id):
            raise CommandError(f"The club {club} has no key {key_id} in use: see stillset key list for the ids.")


def made(settings: Settings) -> FastAPI:
    """Make the application, with a plain sentence where the address of the database is no good."""
    try:
        return create_app(settings)
    except ValueError as error:
        raise CommandError(f"The database cannot be used: {error}") from error


@contextmanager
def _opened(settings: Settings) -> Iterator[Store]:
    try:
        store = Store(settings)
    except ValueError as error:
        raise CommandError(f"The database cannot be used: {error}") from error
    try:
        store.upgrade()
        yield store
    finally:
        store.close()


def _must_be_there(settings: Settings) -> None:
    """Refuse a SQLite file that is not there: a mistyped name is no wish for an empty store."""
    prefix, _, path = settings.database_url.partition(":///")
    if prefix == "sqlite" and not Path(path).exists():
        raise CommandError(f"There is no store {path}.")


def _club_id(connection: Connection, club: str) -> str:
    club_id = clubs.find(connection, club)
    if club_id is None:
        raise CommandError(f"There is no club {club}.")
    return club_id
