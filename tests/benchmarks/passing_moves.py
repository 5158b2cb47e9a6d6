"""Moves of strength that come and go and are no decline.

A whole squad's mean dipped by 2.6 % at most in a season without trouble (Crow et al. 2010, J Sci Med
Sport); force after a match moved by -1.3, -0.7, +3.8 and +3.1 % at once and 24, 48 and 72 h later (Roe et
al. 2016, J Strength Cond Res 30:344). How fast the dip came and went is not reported: here it comes
within a week, stays for one and goes within one.
"""

import numpy as np
from numpy.typing import NDArray

DIP = np.log1p(-0.026)
DIP_DAYS = (140.0, 147.0, 154.0, 161.0)
"""Days of the season on which the dip begins, is full, begins to go and is gone."""
FIRST_MATCH, LAST_MATCH, MATCH_EVERY = 42.0, 238.0, 7.0
SWING_DAYS = (0.0, 1.0, 2.0, 3.0, 5.0)
SWING = np.log1p([-0.013, -0.007, 0.038, 0.031, 0.0])
"""Move so many days after a match, on a straight line between; gone two days after the last reported figure."""


def squad_dip(days: NDArray[np.float64]) -> NDArray[np.float64]:
    """One dip of the whole squad."""
    return np.interp(days, DIP_DAYS, [0.0, DIP, DIP, 0.0])


def after_matches(days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Swing after a match every week from the seventh to the thirty-fifth."""
    swing = np.interp((days - FIRST_MATCH) % MATCH_EVERY, SWING_DAYS, SWING)
    return np.where((days >= FIRST_MATCH) & (days < LAST_MATCH + MATCH_EVERY), swing, 0.0)


PASSING = {"squad dips by 2.6 %": squad_dip, "swings after matches": after_matches}
