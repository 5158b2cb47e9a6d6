"""Sets as they were sent, with how they are judged now; and the readings that come of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from stillset_core.history import judge_among
from stillset_core.judged import SetLoad
from stillset_core.judging.answer import standings_answer
from stillset_core.judging.outcome import Bound, Counted, Outcome, Standing
from stillset_core.load import set_load
from stillset_core.pipeline import AthleteState
from stillset_core.protocol import Protocol
from stillset_core.series import Reading
from stillset_service import clock
from stillset_service.books import Book, StoredSet
from stillset_service.views.spelling import Json

__all__ = ["SetSeen", "load_json", "reading_json", "set_json", "sets_seen", "standing_of"]


@dataclass(frozen=True, slots=True)
class SetSeen:
    """A stored set as it is judged now; a withdrawn one as it would be judged."""

    stored: StoredSet
    outcome: Outcome
    load: SetLoad

    @property
    def at(self) -> datetime:
        """When the set was done."""
        return self.stored.record.performed_at

    def has(self, standing: Standing | None) -> bool:
        """Whether a direction of the set has this standing; every set has None."""
        return standing is None or any(direction.standing is standing for direction in self.outcome)


def sets_seen(book: Book, state: AthleteState, protocol: Protocol) -> list[SetSeen]:
    """Give every set of an athlete up to the moment of the state, withdrawn ones too.

    Parameters
    ----------
    book : Book
        The athlete's sets on record.
    state : AthleteState
        Derived of that book; its ``as_of`` cuts.
    protocol : Protocol
        In force, to judge withdrawn sets by.
    """
    judged = {one.record.client_ref: one for one in state.judged}
    seen = []
    for stored in book.sets:
        if stored.record.performed_at > state.as_of:
            continue
        one = judged.get(stored.client_ref)
        if one is None:
            outcome = judge_among(stored.record, book.active, book.positions, protocol)
            seen.append(SetSeen(stored, outcome, set_load(stored.record)))
        else:
            seen.append(SetSeen(stored, one.outcome, one.load))
    return seen


def set_json(seen: SetSeen, document: Mapping[str, object], athlete_ref: str) -> Json:
    """Give a set with every member as it was sent."""
    return {
        "id": seen.stored.id,
        **document,
        "athlete": athlete_ref,
        "standings": standings_answer(seen.outcome, seen.stored.record.quantity),
        "load": load_json(seen.load),
        "status": seen.stored.status.value,
        "received_at": clock.spelled(seen.stored.received_us),
    }


def load_json(load: SetLoad) -> Json:
    """Give the work of a set."""
    return {"reps": load.reps, "hold_s": load.hold_s, "impulse_n_s": load.impulse_n_s}


def reading_json(reading: Reading, set_id: str, performed_at: str) -> Json:
    """Give a reading as one row; ``performed_at`` is spelled as it was sent."""
    value = reading.value
    return {
        "set_id": set_id,
        "client_ref": reading.client_ref,
        "performed_at": performed_at,
        "direction": reading.direction.value,
        "standing": standing_of(reading).value,
        "left": value.left,
        "right": value.right,
        **_adjusted(value),
        "position": reading.series.position,
        "knee_angle_deg": reading.series.knee_angle_deg,
        "instrument_kind": reading.series.instrument_kind.value,
        "unit": reading.series.quantity.value,
    }


def standing_of(reading: Reading) -> Standing:
    """Give the standing behind a reading."""
    return Standing.COUNTS if reading.counts else Standing.AT_LEAST


def _adjusted(value: Counted | Bound) -> Json:
    if isinstance(value, Bound):
        return {"adjusted_left": None, "adjusted_right": None, "maximal_reps": None}
    return {
        "adjusted_left": value.adjusted_left,
        "adjusted_right": value.adjusted_right,
        "maximal_reps": value.maximal_reps,
    }
