"""How steadily one side is the stronger one, and a side gap in words.

Which side is stronger often changes from session to session: one gap says little without its history.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillset_core.records import Side

__all__ = ["FEWEST_SESSIONS", "SESSIONS", "Lead", "gap_in_words", "sessions_led"]

SESSIONS = 12
"""So many of the latest session ends are looked at: common practice, no source."""
FEWEST_SESSIONS = 8
"""With fewer nothing is said."""


@dataclass(frozen=True, slots=True)
class Lead:
    """In how many of the latest sessions a side was the stronger one."""

    led: int
    sessions: int

    @property
    def percent(self) -> float:
        """Share of the sessions, in %."""
        return 100 * self.led / self.sessions


def sessions_led(smoothed: NDArray[np.float64], side: Side) -> Lead | None:
    """Count the latest session ends at which a side was the stronger one.

    Parameters
    ----------
    smoothed : (T,) array
        Smoothed ln(left ÷ right) at the session ends at which both sides were known, oldest first. Neighbours
        share most of their readings, so that a share near 100 % is usual where the gap is not small.
    side : Side

    Returns
    -------
    Lead or None
        None for fewer than eight session ends.
    """
    latest = smoothed[-SESSIONS:]
    if len(latest) < FEWEST_SESSIONS:
        return None
    led = latest > 0 if side is Side.LEFT else latest < 0
    return Lead(int(np.count_nonzero(led)), len(latest))


def gap_in_words(stronger: Side, size: str, lead: Lead | None, dominant_side: Side | None) -> str:
    """Say a side gap in one or two sentences, the dominant side taken into account.

    Parameters
    ----------
    stronger : Side
    size : str
        By how much, as ``by 6.2 % (of-stronger), beyond noise``.
    lead : Lead or None
        In how many of the latest sessions that side was the stronger one.
    dominant_side : Side or None
        As on file.

    Returns
    -------
    str

    Examples
    --------
    >>> gap_in_words(Side.LEFT, "by 6.2 % (of-stronger), beyond noise", Lead(11, 12), Side.RIGHT)
    'Left, not the dominant side, is the stronger one by 6.2 % (of-stronger), beyond noise. It was in 11 of the last 12 sessions.'
    """  # noqa: E501 (an example cannot be broken)
    whose = ""
    if dominant_side is not None:
        whose = ", the dominant side," if stronger is dominant_side else ", not the dominant side,"
    first = f"{stronger.value.capitalize()}{whose} is the stronger one {size}."
    return first if lead is None else f"{first} It was in {lead.led} of the last {lead.sessions} sessions."
