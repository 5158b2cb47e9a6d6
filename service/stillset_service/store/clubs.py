"""Clubs."""

from sqlalchemy import Connection

from stillset_service import clock
from stillset_service.ids import new_id
from stillset_service.store.engine import run

__all__ = ["ensure"]


def ensure(connection: Connection, slug: str) -> str:
    """Give the id of the club of a slug, making the club if it is not there."""
    values = (new_id(), slug, slug, clock.microseconds(clock.now()))
    run(connection, "INSERT INTO club (id, slug, name, created_us) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING", values)
    return str(run(connection, "SELECT id FROM club WHERE slug = ?", (slug,)).scalar_one())
