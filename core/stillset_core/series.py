"""Which readings may be compared, and in which order the trend takes them."""

from dataclasses import dataclass
from datetime import datetime

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.records import Direction, InstrumentKind, Quantity, SetRecord, StandardPosition

__all__ = ["Reading", "SeriesKey", "series_of"]


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


def series_of(record: SetRecord, standard: StandardPosition | None) -> SeriesKey | None:
    """Find the series of a set: the standard's position, the set's own kind of instrument and quantity.

    Parameters
    ----------
    record : SetRecord
        The set.
    standard : StandardPosition or None
        The standard position in force when it was done.

    Returns
    -------
    SeriesKey or None
        None without a standard position. A set that judging sets aside has a series too: the one
        whose level its load is held against.
    """
    if standard is None:
        return None
    position = standard.position
    return SeriesKey(position.name, position.knee_angle_deg, record.instrument.kind, record.quantity)
