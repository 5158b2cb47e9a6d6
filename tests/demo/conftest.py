"""The demo season, made once for all tests of this folder."""

from datetime import date

import pytest

from stillset_demo.season import Season, make_season

END = date(2026, 11, 20)


@pytest.fixture(scope="session")
def season() -> Season:
    return make_season(2026, end=END)
