"""Comparison with a limit, and numbers as a sentence shows them.

Limits are decimals that people type; binary arithmetic must not turn 65.3 - 60.3 into more than 5.
A difference within 1e-9 of the limit is at the limit, and at the limit is allowed.
"""

__all__ = ["MARGIN", "is_above", "is_below", "number", "one_decimal"]

MARGIN = 1e-9
"""How far off a limit still is at it."""


def is_above(seen: float, limit: float) -> bool:
    """Tell whether ``seen`` lies above the limit, not at it."""
    return seen > limit + MARGIN


def is_below(seen: float, limit: float) -> bool:
    """Tell whether ``seen`` lies below the limit, not at it."""
    return seen < limit - MARGIN


def number(value: float) -> str:
    """Write a number for a sentence: as many decimals as it has, up to nine, and never an exponent."""
    text = f"{value:.9f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def one_decimal(value: float) -> str:
    """Write a number with at least one decimal, as times are written: 3.0, 2.95."""
    text = number(value)
    return text if "." in text else f"{text}.0"
