"""A set after judging: the record with everything that was found out about it."""

from dataclasses import dataclass

from stillset_core.judging.outcome import Outcome
from stillset_core.load import SetLoad
from stillset_core.records import SetRecord, StandardPosition
from stillset_core.series import SeriesKey

__all__ = ["JudgedSet"]


@dataclass(frozen=True, slots=True)
class JudgedSet:
    """One set with its session, the standard it was held against, its standings and its load.

    ``session`` is equal for sets of the same session of this athlete. ``standard`` is the standard
    position in force at ``performed_at`` and ``series`` where a reading of this set belongs; both
    are None for an athlete without a standard position then.
    """

    record: SetRecord
    session: int
    standard: StandardPosition | None
    series: SeriesKey | None
    outcome: Outcome
    load: SetLoad
