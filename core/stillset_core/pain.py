"""Pain as the athletes stated it, set by set. A missing answer is unknown and makes no entry; it is never 0."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from stillset_core.records import PainWhen, SetRecord

__all__ = ["PainEntry", "pain_entries"]


@dataclass(frozen=True, slots=True)
class PainEntry:
    """What one set says about pain: a score of 0 to 10, or yes/no without a score."""

    performed_at: datetime
    score: float | None
    present: bool | None
    site: str | None
    when: PainWhen
    client_ref: str

    def reaches(self, score: float) -> bool:
        """Whether the stated score is at or above a mark; a yes without a score reaches none."""
        return self.score is not None and self.score >= score


def pain_entries(records: Iterable[SetRecord]) -> tuple[PainEntry, ...]:
    """One entry for each set that states pain, oldest first.

    Parameters
    ----------
    records : iterable of SetRecord
        Sets of one athlete in any order.

    Returns
    -------
    tuple of PainEntry
    """
    entries = [
        PainEntry(
            record.performed_at,
            record.pain.score,
            record.pain.present,
            record.pain.site,
            record.pain.when,
            record.client_ref,
        )
        for record in records
        if record.pain is not None
    ]
    return tuple(sorted(entries, key=lambda entry: (entry.performed_at, entry.client_ref)))
