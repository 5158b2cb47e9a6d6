"""Numbers, dates and sentences as the pages write them."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from stillset_core.pain import PainEntry
from stillset_core.records import PainWhen
from stillset_service.pages import addresses
from stillset_service.pages.rendering import kept_together
from stillset_service.pages.wording import age, day_words, name_words, pain_words, plural

END_OF_DAY = datetime(2026, 11, 25, 23, 59, 59, tzinfo=UTC)


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (datetime(2026, 11, 25, 7, tzinfo=UTC), "today"),
        (datetime(2026, 11, 26, 1, tzinfo=timezone(timedelta(hours=2))), "today"),
        (datetime(2026, 11, 24, 23, 59, tzinfo=UTC), "yesterday"),
        (datetime(2026, 11, 23, 18, tzinfo=timezone(timedelta(hours=1))), "2 days ago"),
        (None, "never"),
    ],
)
def test_age_counts_calendar_days(at, words):
    assert age(at, END_OF_DAY) == words


@pytest.mark.parametrize(
    ("name", "seen"), [("Zoë", True), ("🏐", True), (None, False), ("  ", False), ("\u200b", False)]
)
def test_an_athlete_whose_name_nobody_can_see_goes_by_the_ref(name, seen):
    assert name_words(name, "MB-07") == (name if seen else "MB-07")


def test_a_date_is_written_as_people_do():
    assert day_words(datetime(2026, 9, 4, tzinfo=UTC)) == "4 Sep 2026"
    assert day_words(None) == "–"


@pytest.mark.parametrize(
    ("score", "present", "when", "words"),
    [
        (4.0, None, PainWhen.DURING, "4 of 10"),
        (0.0, None, PainWhen.DURING, "0 of 10"),
        (2.5, None, PainWhen.NEXT_DAY, "2.5 of 10 next day"),
        (None, True, PainWhen.DURING, "yes, no score"),
        (None, False, PainWhen.AFTER, "no after"),
    ],
)
def test_pain_is_written_as_it_was_stated(score, present, when, words):
    assert pain_words(PainEntry(END_OF_DAY, score, present, None, when, "x")) == words


def test_no_answer_about_pain_is_not_zero():
    assert pain_words(None) == "–"


def test_a_count_goes_with_its_noun():
    assert [plural(n, "reading") for n in (0, 1, 2)] == ["0 readings", "1 reading", "2 readings"]


def test_a_sentence_keeps_numbers_with_units_and_dates_whole():
    text = str(kept_together("Now 271 N (95 % 255 to 288 N), last on 2026-09-14."))
    assert "271\N{NO-BREAK SPACE}N" in text
    assert "95\N{NO-BREAK SPACE}%" in text
    assert '<time class="nowrap" datetime="2026-09-14">14 Sep 2026</time>' in text


@pytest.mark.parametrize("text", ["<b>2026-09-14</b>", "2026-13-45", "MB-2026-09-14-x", '"><script>'])
def test_a_sentence_is_escaped_whatever_it_holds(text):
    written = str(kept_together(text))
    assert "<b>" not in written
    assert "<script" not in written
    if text in {"2026-13-45", "MB-2026-09-14-x"}:
        assert written == text


def test_an_entry_of_the_ledger_has_a_name_that_any_address_can_hold():
    part = addresses.set_part('"><svg onload=alert(1)>\udc80')
    assert part.removeprefix("set-").isalnum()
    assert part != addresses.set_part("another")
