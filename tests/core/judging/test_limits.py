"""Comparison with a limit, and numbers in sentences."""

import pytest

from stillset_core.judging.limits import is_above, is_below, number, one_decimal


def test_at_the_limit_is_neither_above_nor_below():
    assert not is_above(0.1 + 0.2, 0.3)
    assert not is_below(0.3, 0.1 + 0.2)
    assert not is_above(5.0 + 9e-10, 5.0)
    assert not is_below(5.0 - 9e-10, 5.0)


def test_a_little_beyond_the_limit_is_beyond_it():
    assert is_above(5.0 + 2e-9, 5.0)
    assert is_below(5.0 - 2e-9, 5.0)
    assert not is_above(4.0, 5.0)
    assert not is_below(6.0, 5.0)


@pytest.mark.parametrize(
    ("value", "text"),
    [(60.0, "60"), (60, "60"), (34.5, "34.5"), (0.1 + 0.2, "0.3"), (-0.0, "0"), (1e7, "10000000"), (-1e-12, "0")],
)
def test_a_number_is_written_with_the_decimals_it_has(value, text):
    assert number(value) == text


@pytest.mark.parametrize(("value", "text"), [(3.0, "3.0"), (2.1, "2.1"), (2.95, "2.95"), (100, "100.0")])
def test_a_time_is_written_with_at_least_one_decimal(value, text):
    assert one_decimal(value) == text
