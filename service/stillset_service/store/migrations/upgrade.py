"""Bring a database to the newest revision."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, text

__all__ = ["alembic_config", "upgrade_to_head"]

_ADVISORY_LOCK = 7_405_361_190
"""Any fixed number: several processes that start together take turns."""


def alembic_config(connection: Connection) -> Config:
    """Make the configuration of Alembic for a connection; there is no ini file."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def upgrade_to_head(connection: Connection) -> None:
    """Run every revision that is not yet in the database, inside the caller's transaction."""
    if connection.dialect.name == "postgresql":
        connection.execute(text(f"SELECT pg_advisory_xact_lock({_ADVISORY_LOCK})"))
    command.upgrade(alembic_config(connection), "head")
