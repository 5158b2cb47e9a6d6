"""Rules of effort: only a rep planned as maximal shows strength; any other shows that there was at least so much.

Unknown effort is never taken for maximal.
"""

from stillset_core.judging.context import SetContext
from stillset_core.judging.limits import is_below, number
from stillset_core.judging.outcome import Remark
from stillset_core.protocol import Protocol
from stillset_core.records import Rep

__all__ = ["effort_unknown", "is_maximal", "planned_below_maximal"]


def is_maximal(rep: Rep, protocol: Protocol) -> bool:
    """Tell whether the rep was planned as maximal."""
    return rep.intended_percent is not None and not is_below(rep.intended_percent, protocol.min_intended_percent)


def planned_below_maximal(context: SetContext, rep: Rep) -> Remark | None:
    """Find a planned effort below the protocol's lower limit of maximal."""
    seen, limit = rep.intended_percent, context.protocol.min_intended_percent
    if seen is None or not is_below(seen, limit):
        return None
    text = f"Planned at {number(seen)} % of maximal; the protocol counts {number(limit)} % and above as maximal."
    return Remark("planned-below-maximal", seen, limit, text)


def effort_unknown(context: SetContext, rep: Rep) -> Remark | None:
    """Find a rep whose planned effort nobody stated."""
    if rep.intended_percent is not None:
        return None
    limit = context.protocol.min_intended_percent
    text = f"No planned effort was stated; the protocol counts {number(limit)} % and above as maximal."
    return Remark("effort-unknown", "not stated", limit, text)
