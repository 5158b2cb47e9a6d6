"""Standings as the API answers them: plain dictionaries, ready for JSON."""

from stillset_core.judging.outcome import Bound, Counted, DirectionOutcome, Outcome, Remark
from stillset_core.records import Quantity

__all__ = ["standings_answer"]


def standings_answer(outcome: Outcome, quantity: Quantity) -> list[dict[str, object]]:
    """Write the standings of a set.

    Parameters
    ----------
    outcome : Outcome
        What judging found.
    quantity : Quantity
        What was measured; its SI unit stands beside the reading.

    Returns
    -------
    list of dict
        The API's ``standings``: one entry for each direction, squeeze first. Numbers are not rounded.
    """
    return [_direction_answer(direction, quantity) for direction in outcome]


def _direction_answer(outcome: DirectionOutcome, quantity: Quantity) -> dict[str, object]:
    return {
        "direction": outcome.direction.value,
        "standing": outcome.standing.value,
        "reasons": [_remark_answer(remark) for remark in outcome.reasons],
        "cautions": [_remark_answer(remark) for remark in outcome.cautions],
        "reading": _reading_answer(outcome.reading, quantity),
    }


def _remark_answer(remark: Remark) -> dict[str, object]:
    return {"rule": remark.rule, "seen": remark.seen, "needed": remark.needed, "text": remark.text}


def _reading_answer(reading: Counted | Bound | None, quantity: Quantity) -> dict[str, object] | None:
    if reading is None:
        return None
    if isinstance(reading, Bound):
        return {"left": reading.left, "right": reading.right, "unit": quantity.value, "bound": True}
    return {
        "left": reading.left,
        "right": reading.right,
        "unit": quantity.value,
        "maximal_reps": reading.maximal_reps,
        "adjusted_left": reading.adjusted_left,
        "adjusted_right": reading.adjusted_right,
    }
