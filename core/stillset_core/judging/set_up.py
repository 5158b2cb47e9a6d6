"""How a series was set up lately: what the caution about a drifting set-up looks back on."""

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from stillset_core.judging.cautions import SETS_IN_DRIFT, drifting_side, stated
from stillset_core.judging.context import NO_SET_UP, SetContext, SetUp, Stated
from stillset_core.records import SetRecord

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


def recent_set_up(
    context: SetContext, earlier: Iterable[SetRecord], in_series: Callable[[SetRecord], SetContext | None]
) -> SetUp:
    """Look back from one set, no further and no closer than its caution needs.

    Parameters
    ----------
    context : SetContext
        The set, with no set-up in it yet.
    earlier : iterable of SetRecord
        The athlete's sets before it, latest first.
    in_series : callable
        Gives the context of an earlier set, or None for one of another series.

    Returns
    -------
    SetUp
        The last five stated values of each kind, cut short where the answer is settled: at a value
        that does not drift, and for knee angles at any bar height.
    """
    bar_tolerance, angle_tolerance = context.protocol.bar_height_tolerance, context.protocol.knee_angle_tolerance_deg
    own_height, own_angle = stated(context)
    heights: list[Stated] = []
    angles: list[Stated] = []
    if own_height is not None and _settled([own_height], bar_tolerance):
        return NO_SET_UP
    angles_open = own_height is None and not (own_angle is not None and _settled([own_angle], angle_tolerance))
    for record in earlier:
        # Most of a long history is passed over here: this line is what a set without a bar height costs.
        if record.position.bar_height is None and not angles_open:
            continue
        other = in_series(record)
        height, angle = (None, None) if other is None else stated(other)
        if height is not None:
            heights.insert(0, height)
            if _settled(heights, bar_tolerance):
                break
        elif angle is not None and angles_open:
            angles.insert(0, angle)
            angles_open = not _settled(angles, angle_tolerance)
    return SetUp(tuple(heights), tuple(angles))


def _settled(values: Sequence[Stated], tolerance: float) -> bool:
    """Tell whether nothing before these values, the earliest first, can change the answer."""
    return len(values) == SETS_IN_DRIFT or drifting_side(values[0], tolerance) == 0
