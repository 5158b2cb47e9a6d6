"""Times and dates in RFC 3339's spelling, and nothing else."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillset_core.rfc3339 import parse_full_date, parse_instant, spelled


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        # RFC 3339, section 5.8, the examples without leap seconds.
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, 0, UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870000, UTC)),
        # Section 5.6: T and Z may be lower case; -00:00 is an unknown local offset of a known UTC.
        ("2026-09-14t17:32:05z", datetime(2026, 9, 14, 17, 32, 5, 0, UTC)),
        ("2026-09-14T17:32:05-00:00", datetime(2026, 9, 14, 17, 32, 5, 0, UTC)),
        ("2026-09-14T17:32:05.1234567890123Z", datetime(2026, 9, 14, 17, 32, 5, 123456, UTC)),
        ("2024-02-29T00:00:00+23:59", datetime(2024, 2, 28, 0, 1, 0, 0, UTC)),
    ],
)
def test_an_instant_is_read(text, instant):
    assert parse_instant(text) == instant


def test_the_offset_that_was_sent_is_kept():
    assert parse_instant("2026-09-14T17:32:05+05:30").utcoffset() == timedelta(hours=5, minutes=30)


@pytest.mark.parametrize(
    "text",
    [
        "0",
        "1700000000",
        "2026-09-14",
        "2026-09-14T17:32:05",
        "2026-09-14 17:32:05Z",
        "2026-09-14T17:32Z",
        "2026-09-14T17:32:05+0200",
        "2026-09-14T17:32:05+02",
        "2026-09-14T17:32:05 +02:00",
        "2026-09-14T17:32:05.+02:00",
        "2026-09-14T17:32:05,5+02:00",
        "20260914T173205Z",
        "2026-W38-1T17:32:05Z",
        "2026-257T17:32:05Z",
        "2026-09-14T24:00:00Z",
        "2026-09-14T17:60:00Z",
        "2026-09-14T17:32:61Z",
        "2026-09-14T17:32:05+24:00",
        "2026-09-14T17:32:05+02:60",
        "2026-09-14T17:32:05+02:00\n",
        " 2026-09-14T17:32:05+02:00",
        "2026-09-14T17:32:05[Europe/Paris]",
        "+02026-09-14T17:32:05Z",
        "٢٠٢٦-09-14T17:32:05Z",
        "",
    ],
)
def test_another_spelling_is_refused(text):
    with pytest.raises(ValueError, match="RFC 3339"):
        parse_instant(text)


@pytest.mark.parametrize(
    "text", ["2025-02-29T00:00:00Z", "2026-13-01T00:00:00Z", "2026-00-10T00:00:00Z", "0000-01-01T00:00:00Z"]
)
def test_a_day_outside_the_calendar_is_refused(text):
    with pytest.raises(ValueError, match="calendar"):
        parse_instant(text)


def test_a_leap_second_is_refused_by_name():
    # RFC 3339, section 5.8, third example.
    with pytest.raises(ValueError, match="leap second"):
        parse_instant("1990-12-31T23:59:60Z")


@given(
    st.datetimes(timezones=st.integers(-1439, 1439).map(lambda minutes: timezone(timedelta(minutes=minutes)))),
)
def test_what_python_writes_is_read_back(instant):
    text = instant.isoformat()
    read = parse_instant(text)
    assert read == instant
    assert read.utcoffset() == instant.utcoffset()


def test_a_full_date_is_read():
    assert parse_full_date("2026-08-30") == date(2026, 8, 30)


@pytest.mark.parametrize(
    "text", ["20260830", "2026-8-30", "2026-W35-7", "2026-08-30T00:00:00Z", "2026-02-30", "", "2026-08-30\n"]
)
def test_another_spelling_of_a_date_is_refused(text):
    with pytest.raises(ValueError, match=r"YYYY-MM-DD|calendar"):
        parse_full_date(text)


@pytest.mark.parametrize(
    "text", ["2026-09-14T17:32:05Z", "2026-09-14T17:32:05+02:00", "2026-09-14T17:32:05.250000-03:30"]
)
def test_an_instant_is_spelled_as_it_was_read(text: str) -> None:
    assert spelled(parse_instant(text)) == text
