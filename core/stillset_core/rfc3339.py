"""Times and dates as RFC 3339 spells them, which is narrower than what parsers of ISO 8601 take.

Refused although common parsers take them: epoch numbers, a space for ``T``, missing seconds,
``+0200`` without a colon, a missing offset, week and ordinal dates.
"""

import re
from datetime import date, datetime
from functools import lru_cache

__all__ = ["parse_full_date", "parse_instant", "spelled"]

_INSTANT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[Tt]"
    r"((?:[01][0-9]|2[0-3]):[0-5][0-9]:(?:[0-5][0-9]|(60)))(?:\.([0-9]{1,6})[0-9]*)?"
    r"(?:([Zz])|([+-](?:[01][0-9]|2[0-3]):[0-5][0-9]))"
)
_FULL_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@lru_cache(maxsize=256)  # a set's time is read when it is checked, and again when it becomes a record
def parse_instant(text: str) -> datetime:
    """Read an RFC 3339 date-time with its offset.

    Parameters
    ----------
    text : str
        Such as ``2026-09-14T17:32:05+02:00``; ``t`` and ``z`` may be lower case. Digits of the second beyond
        the sixth are dropped.

    Returns
    -------
    datetime
        Aware, in the offset that was sent.

    Raises
    ------
    ValueError
        With a sentence that says what is wrong.
    """
    found = _INSTANT.fullmatch(text)
    if found is None:
        raise ValueError("must be an RFC 3339 time with seconds and an offset, such as 2026-09-14T17:32:05+02:00")
    day, time, leap_second, fraction, zulu, offset = found.groups()
    if leap_second:
        raise ValueError("a leap second (:60) cannot be kept; send the second before or after it")
    try:
        return datetime.fromisoformat(f"{day}T{time}.{(fraction or '0'):0<6}{'+00:00' if zulu else offset}")
    except ValueError:
        raise ValueError("names a day that the calendar does not have") from None


def parse_full_date(text: str) -> date:
    """Read an RFC 3339 full-date, ``YYYY-MM-DD``.

    Raises
    ------
    ValueError
        With a sentence that says what is wrong.
    """
    if _FULL_DATE.fullmatch(text) is None:
        raise ValueError("must be a date as YYYY-MM-DD")
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError("names a day that the calendar does not have") from None


def spelled(at: datetime) -> str:
    """Write an instant as RFC 3339 in the offset that it carries, ``Z`` for UTC."""
    return at.isoformat().replace("+00:00", "Z")
