"""Pain entries: what was stated, and nothing made up where nothing was."""

from datetime import UTC, datetime, timedelta

import pytest

from stillset_core.pain import pain_entries
from stillset_core.records import Instrument, InstrumentKind, Pain, PainWhen, Position, Quantity, SetRecord

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def a_set(client_ref="s1", at=NOON, pain=None):
    return SetRecord(
        client_ref=client_ref,
        athlete="MB-07",
        performed_at=at,
        position=Position("supine-bent-knee"),
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=Quantity.FORCE,
        reps=(),
        pain=pain,
    )


def test_a_set_that_states_no_pain_makes_no_entry():
    assert pain_entries([a_set()]) == ()


def test_a_yes_without_a_score_stays_a_yes_and_reaches_no_mark():
    (entry,) = pain_entries([a_set(pain=Pain(present=True, site="left groin", when=PainWhen.NEXT_DAY))])
    assert (entry.score, entry.present, entry.site, entry.when) == (None, True, "left groin", PainWhen.NEXT_DAY)
    assert not entry.reaches(0)


@pytest.mark.parametrize(("score", "reached"), [(5.9, False), (6, True), (10, True)])
def test_a_score_at_the_mark_reaches_it(score, reached):
    (entry,) = pain_entries([a_set(pain=Pain(score=score))])
    assert entry.reaches(6) is reached


def test_entries_are_oldest_first_whatever_the_order_of_the_sets():
    sets = [a_set(f"s{day}", NOON + timedelta(days=day), Pain(score=day)) for day in (2, 0, 1)]
    assert [entry.client_ref for entry in pain_entries(sets)] == ["s0", "s1", "s2"]
    assert pain_entries(sets) == pain_entries(reversed(sets))
