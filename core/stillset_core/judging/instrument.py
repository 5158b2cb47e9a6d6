"""Rule of the instrument: different kinds of instrument never share a series."""

from stillset_core.judging.context import SetContext
from stillset_core.judging.outcome import Remark

__all__ = ["other_instrument"]


def other_instrument(context: SetContext) -> Remark | None:
    """Compare the kind of instrument with the one the standard position was recorded for."""
    if context.standard is None:
        return None
    seen, needed = context.record.instrument.kind, context.standard.instrument_kind
    if seen is needed:
        return None
    text = f"Measured with a {seen.value} instrument; the standard position is for {needed.value}."
    return Remark("other-instrument", seen.value, needed.value, text)
