"""A database of an earlier revision is brought to the newest with everything that it holds."""

from datetime import date

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlmodel import SQLModel

from stillset_service.settings import Settings
from stillset_service.store import athletes, attention_answers, clubs, periods
from stillset_service.store.attention_answers import AttentionAnswer
from stillset_service.store.engine import Store, fetch
from stillset_service.store.migrations.upgrade import alembic_config
from stillset_service.store.periods import PeriodFacts

FACTS = {"ref": "A-1", "name": "Odd"}
PERIOD = PeriodFacts("p-1", "injury", date(2026, 1, 5), None, "fell")
ANSWER = AttentionAnswer(
    "n-1", "A-1", "load-jump", None, None, None, "snoozed", "a camp", date(2026, 2, 1), "k-1", 1_770_000_000_000_000
)


@pytest.fixture
def store(new_store_address):
    made = Store(Settings(database_url=new_store_address()))
    yield made
    made.close()


def test_a_filled_store_of_the_first_revision_keeps_its_rows_and_takes_answers(store) -> None:
    with store.write() as connection:
        command.upgrade(alembic_config(connection), "0001")
    with store.write() as connection:
        club_id = clubs.ensure(connection, "old-club")
        athletes.add(connection, club_id, "a-1", FACTS)
        periods.add(connection, club_id, "a-1", PERIOD)
    store.upgrade()
    with store.read() as connection:
        assert compare_metadata(MigrationContext.configure(connection), SQLModel.metadata) == []
        assert athletes.find(connection, club_id, "A-1").name == "Odd"
        assert periods.listed(connection, club_id, "a-1") == (PERIOD,)
        assert attention_answers.newest(connection, club_id) is None
    with store.write() as connection:
        attention_answers.add(connection, club_id, "a-1", ANSWER)
    with store.read() as connection:
        assert attention_answers.listed(connection, club_id) == [ANSWER]
        assert attention_answers.newest(connection, club_id) == "n-1"


def test_going_back_drops_the_answers_and_nothing_else(store) -> None:
    store.upgrade()
    with store.write() as connection:
        clubs.ensure(connection, "old-club")
    with store.write() as connection:
        command.downgrade(alembic_config(connection), "0001")
    with store.read() as connection:
        assert [tuple(row) for row in fetch(connection, "SELECT slug FROM club")] == [("old-club",)]
        left = compare_metadata(MigrationContext.configure(connection), SQLModel.metadata)
    assert {change[1].name for change in left if change[0] == "add_table"} == {"attention_answer"}
