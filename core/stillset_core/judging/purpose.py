"""Rule of purpose: a warm-up is no test of strength, however hard it was."""

from stillset_core.judging.context import SetContext
from stillset_core.judging.outcome import Remark
from stillset_core.records import Purpose

__all__ = ["warm_up"]

_WARM_UP = Purpose.WARM_UP


def warm_up(context: SetContext) -> Remark | None:
    """Set aside a set whose stated purpose was warming up."""
    if context.record.purpose is not _WARM_UP:
        return None
    return Remark("warm-up", "warm-up", "training or test", "The set was a warm-up.")
