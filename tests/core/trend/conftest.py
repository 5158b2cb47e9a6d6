"""A small log of readings, built day by day, for the tests of the trend."""

from datetime import UTC, datetime, timedelta

import pytest

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import SeriesTrend, trend_of

START = datetime(2030, 1, 7, 16, tzinfo=UTC)


class Log:
    """Readings of one invented athlete; every day is its own session unless one is given."""

    def __init__(self) -> None:
        self.readings: list[Reading] = []
        self.protocol = Protocol()
        self.quantity = Quantity.FORCE

    def at(self, day: float) -> datetime:
        return START + timedelta(days=day)

    def settings(self, trend: dict[str, float] | None = None, **settings: object) -> "Log":
        self.protocol = Protocol.model_validate({**settings, "trend": EngineOverrides.model_validate(trend or {})})
        return self

    def add(self, day: float, direction: Direction, value: Counted | Bound, session: int | None = None) -> "Log":
        key = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, self.quantity)
        ref = f"set-{day:09.3f}-{len(self.readings)}"
        chosen = int(day) if session is None else session
        self.readings.append(Reading(ref, self.at(day), chosen, direction, value, key))
        return self

    def counts(
        self,
        day: float,
        left: float | None = 300.0,
        right: float | None = 300.0,
        direction: Direction = Direction.SQUEEZE,
        *,
        reps: int = 3,
        session: int | None = None,
    ) -> "Log":
        value = Counted(left, right, left, right, reps, reps if left else 0, reps if right else 0)
        return self.add(day, direction, value, session)

    def at_least(
        self,
        day: float,
        left: float | None = 200.0,
        right: float | None = 200.0,
        direction: Direction = Direction.SQUEEZE,
        *,
        session: int | None = None,
    ) -> "Log":
        return self.add(day, direction, Bound(left, right), session)

    def trend(self, as_of: float | None = None) -> SeriesTrend:
        last = max(reading.performed_at for reading in self.readings)
        return trend_of(self.readings, self.protocol, last if as_of is None else self.at(as_of))


@pytest.fixture
def log() -> Log:
    return Log()
