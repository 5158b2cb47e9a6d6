"""Which sets of an athlete belong to one session, and what was held hard in it before a set.

Sets without a session_ref chain in order of time while each starts less than three hours after the
one before. A session_ref, whatever the gap, makes a session of its own; sets with and without one
are never joined, and one with a session_ref bridges no gap between others.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from stillset_core.judging.limits import is_below
from stillset_core.records import SetRecord

__all__ = ["HARD_PERCENT", "SESSION_GAP", "Sessions", "hard_s", "prior_hard_s", "set_order"]

SESSION_GAP = timedelta(hours=3)
"""A set that starts this long after the one before begins a new session (API contract)."""
HARD_PERCENT = 80.0
"""Planned effort, % of maximal, from which a hold tires (API contract)."""


def set_order(record: SetRecord) -> tuple[datetime, str]:
    """Sort key of an athlete's sets: time, then client_ref, never arrival."""
    return (record.performed_at, record.client_ref)


def hard_s(record: SetRecord) -> float:
    """Sum the seconds held at a planned effort of 80 % or more; unknown effort is not counted."""
    total = 0.0
    for rep in record.reps:
        if rep.intended_percent is not None and not is_below(rep.intended_percent, HARD_PERCENT):
            total += rep.hold_s
    return total


def prior_hard_s(record: SetRecord, earlier: Sequence[SetRecord]) -> float:
    """Sum what was held hard in the session before a set, looking back no further than needed.

    Parameters
    ----------
    record : SetRecord
        The set.
    earlier : sequence of SetRecord
        The athlete's sets before it, in ``set_order``.

    Returns
    -------
    float
        Seconds; sets at the same instant do not count.
    """
    if record.session_ref is None and (not earlier or record.performed_at - earlier[-1].performed_at >= SESSION_GAP):
        return 0.0
    total = 0.0
    for other in reversed([*_back(record, earlier)]):
        if other.performed_at < record.performed_at:
            total += hard_s(other)
    return total


def _back(record: SetRecord, earlier: Sequence[SetRecord]) -> Iterator[SetRecord]:
    """Walk back through the session of a set, latest first."""
    head = record.performed_at
    for other in reversed(earlier):
        if record.session_ref is not None:
            if other.session_ref == record.session_ref:
                yield other
        elif head - other.performed_at >= SESSION_GAP:
            return
        elif other.session_ref is None:
            head = other.performed_at
            yield other


@dataclass(slots=True)
class _Session:
    """A session while it is being walked through: what was held hard by its latest instant, and before it."""

    number: int
    latest: datetime
    before: float = 0.0
    until: float = 0.0

    def take(self, record: SetRecord) -> float:
        """Take in the next set; give what was held hard strictly before it."""
        if record.performed_at > self.latest:
            self.latest, self.before = record.performed_at, self.until
        self.until += hard_s(record)
        return self.before


@dataclass(slots=True)
class Sessions:
    """Number the sessions of one athlete, fed with all sets in ``set_order``."""

    _count: int = 0
    _chain: _Session | None = None
    _named: dict[str, _Session] = field(default_factory=dict)

    def take(self, record: SetRecord) -> tuple[int, float]:
        """Take in the next set.

        Parameters
        ----------
        record : SetRecord
            Not earlier than the one before.

        Returns
        -------
        tuple of int and float
            The number of its session, from 0 in order of first sets, and the seconds held hard in
            it before this set.
        """
        session = self._session(record)
        return session.number, session.take(record)

    def _session(self, record: SetRecord) -> _Session:
        if record.session_ref is not None:
            session = self._named.get(record.session_ref)
            if session is None:
                session = self._named[record.session_ref] = self._open(record)
            return session
        if self._chain is None or record.performed_at - self._chain.latest >= SESSION_GAP:
            self._chain = self._open(record)
        return self._chain

    def _open(self, record: SetRecord) -> _Session:
        self._count += 1
        return _Session(self._count - 1, record.performed_at)
