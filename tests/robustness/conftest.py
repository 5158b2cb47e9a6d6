"""The service in this process, for tests that send it what no sound client sends."""

import itertools
from collections.abc import Iterator

import pytest
from inside import Inside
from postgres_cluster import PostgresCluster, postgres

from stillset_service.settings import Settings

__all__ = ["postgres"]

_numbers = itertools.count(1)


@pytest.fixture(scope="module")
def inside_postgres(postgres: PostgresCluster) -> Iterator[Inside]:
    """Give the same on PostgreSQL, which minds some things that SQLite does not."""
    with Inside(Settings(database_url=postgres.new_database(f"robustness_{next(_numbers)}"))) as running:
        running.athlete("A-01")
        yield running


@pytest.fixture(scope="module")
def inside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    folder = tmp_path_factory.mktemp("robustness")
    with Inside(Settings(database_url=f"sqlite:///{folder / 'inside.db'}")) as running:
        running.athlete("A-01")
        yield running
