"""Rules of the trace: faults of the recording itself. The faults are found where the trace is read."""

from stillset_core.judging.context import SetContext
from stillset_core.judging.outcome import Remark
from stillset_core.records import Rep

__all__ = ["no_rep_found", "trace_clipped", "trace_gap"]


def no_rep_found(context: SetContext) -> Remark | None:
    """Find a set whose trace holds no rep."""
    if context.record.reps:
        return None
    return Remark("no-rep-found", 0, 1, "No rep was found in the trace.")


def trace_clipped(_context: SetContext, rep: Rep) -> Remark | None:
    """Find a rep whose force ran into the end of the instrument's range."""
    if not rep.clipped:
        return None
    text = "The trace stays at its extreme for 0.25 s or more, as at the end of the instrument's range."
    return Remark("trace-clipped", "clipped", "not clipped", text)


def trace_gap(_context: SetContext, rep: Rep) -> Remark | None:
    """Find a rep in which more samples were lost than can be bridged."""
    if not rep.gap:
        return None
    return Remark("trace-gap", "longer", 0.2, "More than 0.2 s of the trace are missing within the rep.")
