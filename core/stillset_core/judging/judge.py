"""Fold the catalogue over one set: each rep, then each direction, gets its standing."""

from collections.abc import Sequence

from stillset_core.judging.catalogue import DIRECTION_CAUTIONS, REP_RULES, RULES, SET_CAUTIONS, SET_RULES
from stillset_core.judging.context import SetContext
from stillset_core.judging.outcome import DirectionOutcome, Outcome, Remark, Standing
from stillset_core.judging.reading import bound, counted
from stillset_core.records import Direction, Rep

__all__ = ["judge"]

# An enum looks its members up slowly; these are looked up for every set.
_DIRECTIONS = tuple(Direction)
_COUNTS, _AT_LEAST, _SET_ASIDE = Standing.COUNTS, Standing.AT_LEAST, Standing.SET_ASIDE
_ORDER = {entry.code: place for place, entry in enumerate(RULES)}
_SET_CHECKS = tuple(entry.check for entry in SET_RULES)
_REP_CHECKS = tuple(entry.check for entry in REP_RULES)
_BOUNDING = frozenset(entry.code for entry in REP_RULES if entry.standing is Standing.AT_LEAST)
_SET_CAUTION_CHECKS = tuple(entry.check for entry in SET_CAUTIONS)
_DIRECTION_CAUTION_CHECKS = tuple(entry.check for entry in DIRECTION_CAUTIONS)


def judge(context: SetContext) -> Outcome:
    """Judge one set.

    Parameters
    ----------
    context : SetContext
        The set and what it is held against.

    Returns
    -------
    Outcome
        One entry for each direction in the set, squeeze first; both if no rep was found.
    """
    reasons = [remark for check in _SET_CHECKS if (remark := check(context)) is not None]
    cautions = [remark for check in _SET_CAUTION_CHECKS if (remark := check(context)) is not None]
    outcome: list[DirectionOutcome] = []
    for direction in _DIRECTIONS:
        reps = [rep for rep in context.record.reps if rep.direction is direction]
        if reps or not context.record.reps:
            outcome.append(_judge_direction(context, direction, reps, (reasons, cautions)))
    return tuple(outcome)


def _judge_direction(
    context: SetContext,
    direction: Direction,
    reps: Sequence[Rep],
    of_set: tuple[Sequence[Remark], Sequence[Remark]],
) -> DirectionOutcome:
    """Let the direction count on its reps that count, else bound on those that bound, else set it aside."""
    set_reasons, set_cautions = of_set
    counting: list[Rep] = []
    bounding: list[Rep] = []
    bound_reasons: list[Remark] = []
    all_reasons: list[Remark] = [*set_reasons]
    for rep in reps:
        fired = _fired(context, rep)
        if fired:
            all_reasons += fired
        if set_reasons:
            continue
        if not fired:
            counting.append(rep)
        elif all(remark.rule in _BOUNDING for remark in fired):
            bounding.append(rep)
            bound_reasons += fired
    cautions = [
        *set_cautions,
        *(remark for check in _DIRECTION_CAUTION_CHECKS if (remark := check(context, reps, counting)) is not None),
    ]
    if counting:
        reading = counted(counting, context.protocol)
        return DirectionOutcome(direction, _COUNTS, (), tuple(cautions), reading)
    if bounding:
        reasons = _once_each(bound_reasons)
        return DirectionOutcome(direction, _AT_LEAST, reasons, tuple(cautions), bound(bounding, context.protocol))
    return DirectionOutcome(direction, _SET_ASIDE, _once_each(all_reasons), tuple(cautions), None)


def _fired(context: SetContext, rep: Rep) -> Sequence[Remark]:
    fired: list[Remark] | None = None
    for check in _REP_CHECKS:
        remark = check(context, rep)
        if remark is not None:
            fired = [remark] if fired is None else [*fired, remark]
    return fired or ()


def _once_each(remarks: Sequence[Remark]) -> tuple[Remark, ...]:
    """Keep the first remark of each rule, that of the earliest rep, in the order of the catalogue."""
    first: dict[str, Remark] = {}
    for remark in remarks:
        first.setdefault(remark.rule, remark)
    return tuple(sorted(first.values(), key=lambda remark: _ORDER[remark.rule]))
