"""The answer for a judged set."""

from stillset_core.history import judge_among
from stillset_core.judging.answer import standings_answer
from stillset_core.load import set_load
from stillset_core.protocol import Protocol
from stillset_core.records import SetRecord
from stillset_service.books import Book

__all__ = ["judged_answer"]

Json = dict[str, object]


def judged_answer(set_id: str | None, performed_at: str, record: SetRecord, book: Book, protocol: Protocol) -> Json:
    """Judge a set among all of its athlete's and give the members of the answer.

    Parameters
    ----------
    set_id : str or None
        None in a dry run.
    performed_at : str
        As it was sent.
    record : SetRecord
    book : Book
        Of the athlete, this set included.
    protocol : Protocol
        In force.
    """
    outcome = judge_among(record, book.active, book.positions, protocol)
    load = set_load(record)
    return {
        "id": set_id,
        "client_ref": record.client_ref,
        "athlete": record.athlete,
        "performed_at": performed_at,
        "standings": standings_answer(outcome, record.quantity),
        "load": {"reps": load.reps, "hold_s": load.hold_s, "impulse_n_s": load.impulse_n_s},
    }
