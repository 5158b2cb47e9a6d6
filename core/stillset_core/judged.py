"""A set after judging: the record with everything that was found out about it."""

from dataclasses import dataclass

from stillset_core.judging.outcome import Outcome
from stillset_core.records import SetRecord, StandardPosition
from stillset_core.series import SeriesKey
from stillset_core.set_load import SetLoad

__all__ = ["JudgedSet", "SetLoad"]


@dataclass(frozen=True, slots=True)
class JudgedSet:
    """One set with its session, the standard it was held against, its standings and its load.

    ``session`` is equal for sets of the same session of this athlete. ``standard`` is the standard
    position in force at ``performed_at``, and ``series`` the series of that standard with the set's
    own instrument kind and quantity, whatever the standings are; both are None for an athlete
    without a standard position then.
    """

    record: SetRecord
    session: int
    standard: StandardPosition | None
    series: SeriesKey | None
    outcome: Outcome
    load: SetLoad
