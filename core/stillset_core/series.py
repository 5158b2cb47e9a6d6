"""Which readings may be compared, and in which order the trend takes them."""

from dataclasses import dataclass
from datetime import datetime

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.records import Direction, InstrumentKind, Quantity

__all__ = ["Reading", "SeriesKey"]


@dataclass(frozen=True, slots=True, order=True)
class SeriesKey:
    """Position name and knee angle of the standard, instrument kind and quantity; bar height does not part series."""

    position: str
    knee_angle_deg: float | None
    instrument_kind: InstrumentKind
    quantity: Quantity


@dataclass(frozen=True, slots=True)
class Reading:
    """One direction of one set that counts or bounds: what the trend is made of.

    ``session`` is equal for readings of the same session of this athlete, whatever its value is.
    """

    client_ref: str
    performed_at: datetime
    session: int
    direction: Direction
    value: Counted | Bound
    series: SeriesKey

    @property
    def counts(self) -> bool:
        """Whether this is a counting reading rather than a lower bound."""
        return isinstance(self.value, Counted)

    @property
    def order(self) -> tuple[datetime, bool, bool, str]:
        """Sort key of the engine: time, counting before bounds, squeeze before spread, client_ref."""
        return (self.performed_at, not self.counts, self.direction is Direction.SPREAD, self.client_ref)
