"""Low-pass filter without lag: a Butterworth filter run forwards and backwards.

Two runs halve the power gain at the cutoff twice, so each run is designed at a higher cutoff, which makes the two
together pass 1/√2 of the amplitude at the cutoff that was asked for.

References
----------
Winter 2009, Biomechanics and Motor Control of Human Movement, 4th ed., chapter 3; Robertson & Dowling 2003, J
Electromyogr Kinesiol 13:569-573 (both from memory).
"""

import math
from typing import Final

import numpy as np
import scipy  # its parts are loaded when first used: the signal part takes half a second that few processes need

from stillset_core.trace.runs import Floats

__all__ = ["correction", "design_cutoff_hz", "low_pass"]

ORDER: Final = 2
PASSES: Final = 2
EDGE_PERIODS: Final = 6
"""Periods of the cutoff by which the ends are extended; what lies beyond has died away to some hundred-thousandths."""


def correction(order: int = ORDER, passes: int = PASSES) -> float:
    """Give the share of its design cutoff at which a filter that is run several times passes 1/√2.

    Parameters
    ----------
    order : int
        Order of each run.
    passes : int
        Number of runs.

    Notes
    -----
    C = (2^(1/p) - 1)^(1/(2n)) for p runs of order n.

    Examples
    --------
    >>> round(correction(), 6)
    0.802243
    """
    return float((2 ** (1 / passes) - 1) ** (1 / (2 * order)))


def design_cutoff_hz(cutoff_hz: float, rate_hz: float) -> float:
    """Give the cutoff at which each of two runs is designed.

    Parameters
    ----------
    cutoff_hz : float
        Where both together shall pass 1/√2; below half the rate.
    rate_hz : float
        Samples in a second.

    Notes
    -----
    f' = (fs/π)·atan(tan(π·fc/fs)/C): the correction belongs on the pre-warped frequency. Plain division passes 0.779
    in place of 0.707 at 100 Hz and a cutoff of 20 Hz.
    """
    warped = math.tan(math.pi * cutoff_hz / rate_hz) / correction()
    return rate_hz / math.pi * math.atan(warped)


def low_pass(samples: Floats, rate_hz: float, cutoff_hz: float) -> Floats:
    """Filter a signal with a second-order Butterworth filter, forwards and backwards.

    Parameters
    ----------
    samples : array (T,)
        Without losses, at least two.
    rate_hz : float
        Samples in a second.
    cutoff_hz : float
        Where 1/√2 of the amplitude passes; below half the rate.

    Returns
    -------
    array (T,)
        Not shifted in time. A constant passes unchanged.

    Notes
    -----
    Before filtering, each end is extended by six periods of the cutoff (or all there is) with the signal turned
    about its end point, and each run begins as if its first value had always been there. So a level or a slope goes
    on beyond the end; within about one period of an end the result is still less sure than elsewhere.
    """
    edge = min(math.ceil(EDGE_PERIODS * rate_hz / cutoff_hz), samples.size - 1)
    sections = scipy.signal.butter(ORDER, design_cutoff_hz(cutoff_hz, rate_hz), fs=rate_hz, output="sos")
    return np.asarray(scipy.signal.sosfiltfilt(sections, samples, padtype="odd", padlen=edge), dtype=np.float64)
