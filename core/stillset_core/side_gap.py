"""The named formulas of the side gap, each as a function of the log ratio of the two sides.

With δ = ln(left ÷ right), every formula in use is monotone in δ, so that a value and its interval
come from the same function. Percent is positive where left is stronger and negative where right is;
`of-dominant` alone is positive where the dominant side is stronger.

A squeeze against one free bar makes both sides equal by mechanics: a side gap needs a frame that is
anchored.

References
----------
``of-stronger``: Nunn & Mayhew 1988; Impellizzeri et al. 2007, Med Sci Sports Exerc 39:2044.
``of-dominant``: complement of the limb symmetry index, as in Schiltz et al. 2009.
``of-sum``: bilateral asymmetry index, Kobayashi et al. 2013.
``of-mean``: symmetry index, Robinson et al. 1987; gait form in Herzog et al. 1989.
``symmetry-angle``: Zifchock et al. 2008, Gait & Posture 27:622-627.
``log-ratio``: definition.
(Attributions from memory, but for Herzog and Zifchock.)
"""

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from stillset_core.protocol import SideGapFormula
from stillset_core.records import Side

__all__ = ["FORMULAS", "gap_percent"]

MAX_LOG_RATIO = 700.0
"""Log ratios are held within ±700, beyond which the exponential leaves double precision."""


def _of_stronger(log_ratio: float) -> float:
    """(S − W) ÷ S, signed by the stronger side."""
    return math.copysign(-math.expm1(-abs(log_ratio)), log_ratio)


def _of_left(log_ratio: float) -> float:
    """(L − R) ÷ L."""
    return -math.expm1(-log_ratio)


def _of_sum(log_ratio: float) -> float:
    """(L − R) ÷ (L + R)."""
    return math.tanh(log_ratio / 2)


def _of_mean(log_ratio: float) -> float:
    """(L − R) ÷ ½(L + R)."""
    return 2 * math.tanh(log_ratio / 2)


def _symmetry_angle(log_ratio: float) -> float:
    """(45° − atan(W ÷ S)) ÷ 90°, signed by the stronger side; tan(45° − atan x) = (1 − x) ÷ (1 + x)."""
    return 2 / math.pi * math.atan(math.tanh(log_ratio / 2))


def _log_ratio(log_ratio: float) -> float:
    """ln(L ÷ R)."""
    return log_ratio


FORMULAS: Mapping[SideGapFormula, Callable[[float], float]] = MappingProxyType(
    {
        SideGapFormula.OF_STRONGER: _of_stronger,
        SideGapFormula.OF_DOMINANT: _of_left,
        SideGapFormula.OF_SUM: _of_sum,
        SideGapFormula.OF_MEAN: _of_mean,
        SideGapFormula.SYMMETRY_ANGLE: _symmetry_angle,
        SideGapFormula.LOG_RATIO: _log_ratio,
    }
)
"""Each formula as an increasing function of ln(left ÷ right), for an athlete whose left side is dominant."""


def gap_percent(formula: SideGapFormula, log_ratio: float, dominant_side: Side | None = None) -> float:
    """Side gap of one pair of strengths.

    Parameters
    ----------
    formula : SideGapFormula
    log_ratio : float
        ln(left ÷ right).
    dominant_side : Side or None
        Only ``of-dominant`` looks at it; None stands for left.

    Returns
    -------
    float
        The gap in %. It rises with ``log_ratio``, except for ``of-dominant`` with right dominant,
        where it falls.

    Examples
    --------
    >>> round(gap_percent(SideGapFormula.OF_STRONGER, math.log(25 / 20)), 9)
    20.0
    """
    held = max(-MAX_LOG_RATIO, min(MAX_LOG_RATIO, log_ratio))
    if formula is SideGapFormula.OF_DOMINANT and dominant_side is Side.RIGHT:
        held = -held
    return 100 * FORMULAS[formula](held)
