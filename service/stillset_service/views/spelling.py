"""How values of the core are spelled in JSON."""

from datetime import UTC, datetime

from stillset_core.rfc3339 import spelled
from stillset_core.series import SeriesKey

__all__ = ["Json", "age_days", "in_utc", "series_json", "spelled_time"]

Json = dict[str, object]
"""An object ready for JSON: text, numbers, booleans, None, lists and objects of these."""


def spelled_time(at: datetime | None) -> str | None:
    """Write a time as RFC 3339 in the offset that it carries; None where there is none."""
    return None if at is None else spelled(at)


def in_utc(at: datetime) -> str:
    """Write an instant as RFC 3339 in UTC."""
    return spelled(at.astimezone(UTC))


def age_days(at: datetime | None, as_of: datetime) -> int | None:
    """Count the whole days between an instant and the moment of knowledge."""
    return None if at is None else (as_of - at).days


def series_json(key: SeriesKey) -> Json:
    """Write what tells one series from another."""
    return {
        "position": {"name": key.position, "knee_angle_deg": key.knee_angle_deg},
        "instrument_kind": key.instrument_kind.value,
        "unit": key.quantity.value,
    }
