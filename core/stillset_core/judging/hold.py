"""Rules of the hold: long enough to be a hold, short enough to be comparable."""

from stillset_core.judging.context import SetContext
from stillset_core.judging.limits import is_above, is_below, one_decimal
from stillset_core.judging.outcome import Remark
from stillset_core.records import Rep

__all__ = ["hold_too_long", "hold_too_short"]


def hold_too_short(context: SetContext, rep: Rep) -> Remark | None:
    """Compare the hold time with the protocol's shortest."""
    seen, limit = rep.hold_s, context.protocol.min_hold_s
    if not is_below(seen, limit):
        return None
    text = f"Held {one_decimal(seen)} s; the protocol needs at least {one_decimal(limit)} s."
    return Remark("hold-too-short", seen, limit, text)


def hold_too_long(context: SetContext, rep: Rep) -> Remark | None:
    """Compare the hold time with the protocol's longest."""
    seen, limit = rep.hold_s, context.protocol.max_hold_s
    if not is_above(seen, limit):
        return None
    text = f"Held {one_decimal(seen)} s; the protocol allows at most {one_decimal(limit)} s."
    return Remark("hold-too-long", seen, limit, text)
