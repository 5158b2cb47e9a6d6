"""The service in this process, for tests that send it what no sound client sends."""

from collections.abc import Iterator

import pytest
from inside import Inside

from stillset_service.settings import Settings


@pytest.fixture(scope="module")
def inside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    folder = tmp_path_factory.mktemp("robustness")
    with Inside(Settings(database_url=f"sqlite:///{folder / 'inside.db'}")) as running:
        running.athlete("A-01")
        yield running
