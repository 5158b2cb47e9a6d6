"""The only place that asks what time it is; everything else is told.

The store keeps instants as whole microseconds since 1970-01-01T00:00Z: one integer column that
sorts, compares and travels alike on every database.
"""

import time
from datetime import UTC, datetime, timedelta

__all__ = ["instant", "microseconds", "now", "spelled"]

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)


def now() -> datetime:
    """Tell the time, in UTC."""
    return instant(time.time_ns() // 1000)


def microseconds(moment: datetime) -> int:
    """Convert an aware time to whole microseconds since the epoch, exactly."""
    return (moment - EPOCH) // MICROSECOND


def instant(us: int) -> datetime:
    """Convert microseconds since the epoch to a time in UTC."""
    return EPOCH + timedelta(microseconds=us)


def spelled(us: int) -> str:
    """Write microseconds since the epoch as RFC 3339 in UTC, e.g. ``2026-09-14T15:32:05.120000Z``."""
    return instant(us).isoformat(timespec="microseconds").replace("+00:00", "Z")
