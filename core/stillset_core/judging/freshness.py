"""Rules of freshness: rest before a maximal rep, and hard work earlier in the session."""

from stillset_core.judging.context import SetContext
from stillset_core.judging.effort import is_maximal
from stillset_core.judging.limits import is_above, is_below, number, one_decimal
from stillset_core.judging.outcome import Remark
from stillset_core.records import Rep

__all__ = ["not_fresh", "rest_too_short"]


def not_fresh(context: SetContext) -> Remark | None:
    """Limit the seconds held hard in earlier sets of the session, in both directions and any position."""
    seen, limit = context.prior_hard_s, context.protocol.max_prior_hard_s
    if not is_above(seen, limit):
        return None
    text = f"Held hard for {number(seen)} s earlier in the session; the protocol allows {number(limit)} s."
    return Remark("not-fresh", seen, limit, text)


def rest_too_short(context: SetContext, rep: Rep) -> Remark | None:
    """Limit the rest between the end of one maximal rep and the start of the next of its direction.

    Reps that started at the same instant, as when each side was sent as a rep of its own, do not
    tire each other.
    """
    started = rep.started_s
    if started is None or not is_maximal(rep, context.protocol):
        return None
    latest: tuple[float, float] | None = None
    for other in context.record.reps:
        before = other.started_s
        if before is None or before >= started or other.direction is not rep.direction:
            continue
        if is_maximal(other, context.protocol):
            span = (before, before + other.hold_s)
            if latest is None or span > latest:
                latest = span
    if latest is None or not is_below(started - latest[1], context.protocol.min_rest_s):
        return None
    rest, limit = started - latest[1], context.protocol.min_rest_s
    if rest < 0:
        text = f"Started before the previous maximal rep ended; the protocol needs {one_decimal(limit)} s of rest."
    else:
        text = f"Rested {one_decimal(rest)} s; the protocol needs at least {one_decimal(limit)} s."
    return Remark("rest-too-short", rest, limit, text)
