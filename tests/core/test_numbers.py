"""Numbers fit to be read."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from stillset_core.numbers import MISSING, Figure, day, interval, number


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (271.4, "N", "271 N"),
        (112.6, "N.m", "113 N·m"),
        (20_049.0, "Pa", "20.0 kPa"),
        (3868.5, "N.s", "3868 N·s"),
        (2.1, "s", "2.1 s"),
        (-9.64, "%", "−9.6 %"),
        (0.954, "ratio", "0.95"),
        (6.0, "score", "6 of 10"),
        (2.5, "score", "2.5 of 10"),
        (34.4, "scale", "34.4"),
        (60.0, "deg", "60°"),
        (12.0, "count", "12"),
    ],
)
def test_each_unit_is_rounded_to_what_its_error_allows(value, unit, text):
    assert number(value, unit) == text


def test_what_is_missing_is_a_dash_and_never_zero():
    assert number(None, "N") == interval(None, 3, "N") == interval(3, None, "N") == day(None) == MISSING
    assert Figure(None, None, None, "N").sentence == MISSING


def test_a_change_carries_its_sign_but_nothing_carries_a_signed_zero():
    assert number(3.21, "%", signed=True) == "+3.2 %"
    assert number(-3.21, "%", signed=True) == "−3.2 %"
    assert number(-0.04, "%", signed=True) == number(0.04, "%", signed=True) == "0.0 %"


def test_an_interval_names_its_unit_once():
    assert interval(-13.94, 5.1, "%", signed=True) == "−13.9 to +5.1 %"
    assert interval(255.2, 288.4, "N") == "255 to 288 N"


def test_a_time_is_dated_in_its_own_offset():
    late = datetime(2026, 9, 14, 23, 30, tzinfo=timezone(timedelta(hours=-5)))
    assert day(late) == "2026-09-14"
    assert day(date(2026, 9, 14)) == "2026-09-14"


def test_a_figure_says_value_interval_count_and_date():
    figure = Figure(271.4, 255.2, 288.4, "N", readings=34, last_at=datetime(2026, 9, 14, tzinfo=UTC))
    assert figure.sentence == "271 N (95 % 255 to 288 N; 34 readings, last on 2026-09-14)"
    assert Figure(271.4, None, None, "N", readings=1).sentence == "271 N (1 reading)"
    assert Figure(271.4, None, None, "N").sentence == "271 N"
