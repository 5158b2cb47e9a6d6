"""Which readings may be compared, and in which order they are taken."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey

KEY = SeriesKey("supine-bent-knee", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
NOON = datetime(2026, 9, 14, 12, 0, tzinfo=UTC)


def a_reading(client_ref, direction=Direction.SQUEEZE, *, counts=True, at=NOON):
    value = Counted(300.0, 290.0, 300.0, 290.0, 3, 3, 3) if counts else Bound(250.0, None)
    return Reading(client_ref, at, 0, direction, value, KEY)


def test_time_comes_before_everything_else_in_whatever_offset_it_is_written():
    later = a_reading("a", at=(NOON + timedelta(minutes=1)).astimezone(timezone(timedelta(hours=-8))))
    earlier = a_reading("z", Direction.SPREAD, counts=False)
    assert earlier.order < later.order


def test_at_one_instant_counting_comes_first_then_squeeze_then_client_ref():
    expected = [
        a_reading("b"),
        a_reading("c"),
        a_reading("a", Direction.SPREAD),
        a_reading("a", counts=False),
        a_reading("a", Direction.SPREAD, counts=False),
    ]
    mixed = [expected[place] for place in (3, 0, 4, 2, 1)]
    assert sorted(mixed, key=lambda reading: reading.order) == expected


@pytest.mark.parametrize("counts", [True, False])
def test_a_reading_tells_whether_it_counts(counts):
    assert a_reading("a", counts=counts).counts is counts
