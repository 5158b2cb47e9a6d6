"""Connections and transactions on SQLite or PostgreSQL, with the durability that an acknowledgement promises.

SQLite runs in WAL mode with ``synchronous=FULL``: a commit that returned survives a power cut. It
has one writer at a time, so each process holds one writing connection behind a lock. PostgreSQL
uses pools of psycopg connections. Readers see one snapshot for the length of a ``read``.
"""

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import ConnectionPoolEntry, QueuePool

from stillset_service.settings import Settings
from stillset_service.store.migrations.upgrade import upgrade_to_head

__all__ = ["Parameter", "SqlRow", "Store", "fetch", "fetch_one", "marks", "run", "run_many"]

Parameter = str | int | float | bytes | bool | None
SqlRow = tuple[Any, ...]
"""A row of a query: SQL has no types that a checker could see."""


@lru_cache(maxsize=512)
def _spelled(sql: str, paramstyle: str) -> str:
    """Spell a statement for its driver: ours hold ``?`` for every value, and neither ``?`` nor ``%`` as text."""
    return sql if paramstyle == "qmark" else sql.replace("?", "%s")


def run(connection: Connection, sql: str, values: Sequence[Parameter] = ()) -> int:
    """Run one statement at the driver's level; ``?`` stands for each value on every database. Give the rows touched."""
    return connection.exec_driver_sql(_spelled(sql, connection.dialect.paramstyle), tuple(values)).rowcount


def fetch(connection: Connection, sql: str, values: Sequence[Parameter] = ()) -> Sequence[SqlRow]:
    """Run one query at the driver's level and give its rows."""
    return connection.exec_driver_sql(_spelled(sql, connection.dialect.paramstyle), tuple(values)).fetchall()


def fetch_one(connection: Connection, sql: str, values: Sequence[Parameter] = ()) -> SqlRow | None:
    """Run one query and give its first row, or None."""
    return connection.exec_driver_sql(_spelled(sql, connection.dialect.paramstyle), tuple(values)).first()


def run_many(connection: Connection, sql: str, rows: Sequence[tuple[Parameter, ...]]) -> None:
    """Run one statement for many rows at the driver's level."""
    if rows:
        connection.exec_driver_sql(_spelled(sql, connection.dialect.paramstyle), list(rows))


def marks(count: int) -> str:
    """Write the placeholders of a list of values: ``?, ?, ?``."""
    return ", ".join(["?"] * count)


class Store:
    """The store of one process. ``read`` and ``write`` are the only ways in.

    Examples
    --------
    >>> store = Store(Settings(database_url="sqlite:///:temporary:"))  # doctest: +SKIP
    >>> with store.write() as connection:  # doctest: +SKIP
    ...     run(connection, "DELETE FROM period")
    """

    def __init__(self, settings: Settings) -> None:
        url = _driver_url(settings.database_url)
        self.is_sqlite = url.get_backend_name() == "sqlite"
        self.write_lock = threading.Lock()
        if self.is_sqlite:
            self._reader = _sqlite_engine(url, settings.busy_timeout_ms, begin="BEGIN", pool_size=8)
            self._writer = _sqlite_engine(url, settings.busy_timeout_ms, begin="BEGIN IMMEDIATE", pool_size=1)
        else:
            self._reader = create_engine(url, isolation_level="REPEATABLE READ", pool_size=8, pool_pre_ping=True)
            self._writer = create_engine(url, isolation_level="READ COMMITTED", pool_size=8, pool_pre_ping=True)

        self._impatient_writer = self._writer.execution_options(waits=False)

    def upgrade(self) -> None:
        """Bring the tables to the newest revision; harmless when they are there already."""
        with self.write() as connection:
            upgrade_to_head(connection)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Open a connection that sees one snapshot and is never committed."""
        with self._reader.connect() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Open a transaction: committed, durably, when the block ends; rolled back when it raises."""
        with self.write_lock, self.transaction() as connection:
            yield connection

    @contextmanager
    def transaction(self, *, waits: bool = True) -> Iterator[Connection]:
        """Open a transaction for a caller that holds ``write_lock``; on SQLite another process is waited for or not."""
        engine = self._writer if waits else self._impatient_writer
        with engine.begin() as connection:
            yield connection

    def wipe_traces(self) -> None:
        """Leave nothing of deleted rows in the files of SQLite: deleted pages are zeroed, and the log is cut."""
        if not self.is_sqlite:
            return
        with self.write_lock:
            connection = self._writer.raw_connection()
            try:
                connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            finally:
                connection.close()

    def close(self) -> None:
        """Close every connection."""
        self._reader.dispose()
        self._writer.dispose()


def _driver_url(text: str) -> URL:
    """Choose psycopg for every spelling of a PostgreSQL address, and make the folder of a SQLite file."""
    try:
        url = make_url(text)
    except ArgumentError as error:
        raise ValueError("A database is given as sqlite:///FILE or postgresql://USER@HOST/NAME.") from error
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:":
        raise ValueError(f"The database must be a SQLite file or PostgreSQL, not {url.render_as_string()}.")
    Path(url.database).parent.mkdir(parents=True, exist_ok=True)
    return url


def _sqlite_engine(url: URL, busy_timeout_ms: int, *, begin: str, pool_size: int) -> Engine:
    """Make an engine whose transactions start with ``begin`` rather than at the driver's own whim."""
    engine = create_engine(
        url, poolclass=QueuePool, pool_size=pool_size, max_overflow=8, connect_args={"check_same_thread": False}
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        for pragma in (
            # Of a new file only; measured fastest for rows of two to four kilobytes.
            "page_size=16384",
            f"busy_timeout={busy_timeout_ms}",
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            "secure_delete=ON",
            "cache_size=-65536",
            # Pages of log (32 MB) before they are moved to the main file: seldom, for it costs two waits for the disk.
            "wal_autocheckpoint=2000",
        ):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        if connection.get_execution_options().get("waits", True):
            connection.exec_driver_sql(begin)
            return
        connection.exec_driver_sql("PRAGMA busy_timeout=0")
        try:
            connection.exec_driver_sql(begin)
        finally:
            connection.exec_driver_sql(f"PRAGMA busy_timeout={busy_timeout_ms}")

    return engine
