"""Which answer stands for an item, and until when."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from stillset_core.attention import AttentionItem
from stillset_core.records import Direction, Side
from stillset_service import clock
from stillset_service.store.attention_answers import AttentionAnswer
from stillset_service.views.answered import answered

GIVEN = datetime(2026, 9, 20, 12, tzinfo=UTC)
AS_OF = datetime(2026, 9, 25, 23, 59, tzinfo=UTC)
ITEM = AttentionItem(
    "strength-falling", "MB-07", Direction.SQUEEZE, Side.LEFT, "Left squeeze falls.", since=date(2026, 9, 20)
)
SHIFT = AttentionItem("instrument-shift", None, None, None, "F-03 reads low.", {"serial": "F-03"})
SEEN = AttentionAnswer(
    "n-1", "MB-07", "strength-falling", "squeeze", "left", None, "seen", None, None, "k", clock.microseconds(GIVEN)
)


def standing(item, *answers, as_of=AS_OF):
    (one,) = answered([item], answers, as_of)
    return one.answer


@pytest.mark.parametrize(("since", "stands"), [(20, True), (21, False), (None, True)])
def test_an_answer_lapses_when_the_item_begins_on_a_later_day(since, stands):
    item = replace(ITEM, since=None if since is None else date(2026, 9, since))
    assert (standing(item, SEEN) is SEEN) is stands


@pytest.mark.parametrize(("until", "stands"), [(26, True), (25, False)])
def test_a_snooze_stands_until_its_date_is_reached(until, stands):
    snooze = replace(SEEN, answer="snoozed", until=date(2026, 9, until))
    (one,) = answered([ITEM], [snooze], AS_OF)
    assert one.snoozed is stands


@pytest.mark.parametrize(
    "changed",
    [{"athlete": "MB-08"}, {"rule": "pain-at-stop"}, {"direction": "spread"}, {"side": None}, {"serial": "F-03"}],
)
def test_an_answer_to_another_place_is_none_to_this_item(changed):
    assert standing(ITEM, replace(SEEN, **changed)) is None


def test_an_instruments_item_is_told_by_its_serial():
    answer = replace(SEEN, athlete=None, rule="instrument-shift", direction=None, side=None, serial="F-03")
    assert standing(SHIFT, answer) is answer
    assert standing(SHIFT, replace(answer, serial="F-02")) is None


def test_the_latest_answer_known_at_the_moment_stands():
    later = replace(SEEN, id="n-2", at_us=SEEN.at_us + 1)
    assert standing(ITEM, SEEN, later) is later
    assert standing(ITEM, SEEN, later, as_of=GIVEN) is SEEN
    assert standing(ITEM, SEEN, as_of=GIVEN - timedelta(microseconds=1)) is None


def test_snoozed_items_come_last_and_the_others_keep_their_order():
    other = replace(ITEM, side=Side.RIGHT)
    snooze = replace(SEEN, answer="snoozed", until=date(2026, 10, 1))
    assert [one.item for one in answered([ITEM, SHIFT, other], [snooze], AS_OF)] == [SHIFT, other, ITEM]
