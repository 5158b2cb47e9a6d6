"""How a series was set up lately: what the caution about a drifting set-up looks back on."""

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

from stillset_core.judging.cautions import SETS_IN_DRIFT, drifting_side, stated
from stillset_core.judging.context import NO_SET_UP, SetContext, SetUp, Stated

__all__ = ["SetUpWindow", "recent_set_up"]


def _last() -> deque[Stated]:
    return deque(maxlen=SETS_IN_DRIFT)


@dataclass(slots=True)
class SetUpWindow:
    """The last stated set-ups of one series, fed with its sets in order."""

    _bar_heights: deque[Stated] = field(default_factory=_last)
    _knee_angles: deque[Stated] = field(default_factory=_last)

    def set_up(self) -> SetUp:
        """Give what was stated so far."""
        return SetUp(tuple(self._bar_heights), tuple(self._knee_angles))

    def take(self, context: SetContext) -> None:
        """Take in the next set."""
        height, angle = stated(context)
        if height is not None:
            self._bar_heights.append(height)
        if angle is not None:
            self._knee_angles.append(angle)


def recent_set_up(context: SetContext, earlier: Iterable[SetContext]) -> SetUp:
    """Look back from one set as far as its caution needs.

    Parameters
    ----------
    context : SetContext
        The set, with no set-up in it yet.
    earlier : iterable of SetContext
        The sets of its series before it, latest first; read only as far as needed.

    Returns
    -------
    SetUp
        The last five stated values of each kind, cut short at the first bar height that does not
        drift, since the answer is settled there.
    """
    bar_tolerance = context.protocol.bar_height_tolerance
    heights: list[Stated] = []
    angles: list[Stated] = []
    own_height, _ = stated(context)
    if own_height is not None and drifting_side(own_height, bar_tolerance) == 0:
        return NO_SET_UP
    for other in earlier:
        height, angle = stated(other)
        if height is not None:
            heights.insert(0, height)
            if len(heights) == SETS_IN_DRIFT or drifting_side(height, bar_tolerance) == 0:
                break
        if angle is not None and len(angles) < SETS_IN_DRIFT:
            angles.insert(0, angle)
    return SetUp(tuple(heights), tuple(angles))
