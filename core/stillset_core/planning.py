"""Planning: which decline a rhythm of sets would show in time, and how sharp the level then is.

Everything follows from the engine's own model in its steady state. Sets that measure both sides of both
directions at even spacing part the four log levels into a sum and three differences, each followed by a filter
of its own whose steady state has a closed form. Bounds from lighter sets are not reckoned.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from stillset_core.protocol import Protocol
from stillset_core.records import Quantity
from stillset_core.trend.calling import thresholds_at
from stillset_core.trend.decline_bank import DEPTHS, PATTERN_COUNT, RAMP_DAYS
from stillset_core.trend.level import LARGEST_LOG, NORMAL_95
from stillset_core.trend.parameters import Parameters, model_at, parameters_for
from stillset_core.trend.rows import LARGEST_CORRELATION, noise_variance

__all__ = ["FEWEST_SETS", "Habit", "Outlook", "Question", "detection_probability", "outlook_of"]

RISING_TOGETHER = 5.5
"""Onsets, patterns and depths near the true one rise with it: so many times as large as its own is their sum.

Fitted to simulated declines at 2 to 6 sets a week, typical errors of 4.5, 5.6 and 7.8 %."""
FEWEST_SETS = 4.0
"""With fewer counting sets in the time given the engine cannot tell a fall from odd readings: no figure."""
LARGEST_DECLINE = 0.5
"""Beyond it nothing is said."""
DAYS_PER_WEEK = 7.0
PHASES = 16
"""A decline begins anywhere between two sets: so many places are averaged over."""


@dataclass(frozen=True, slots=True)
class Habit:
    """A rhythm of sets.

    Attributes
    ----------
    sets_per_week : float
        Above 0; evenly spaced, each of both directions and in a session of its own.
    maximal_share : float
        Share of them, above 0, that count.
    noise_scale : float
        The athlete's noise against the usual.
    """

    sets_per_week: float
    maximal_share: float = 1.0
    noise_scale: float = 1.0

    @property
    def counting_per_week(self) -> float:
        """Counting sets per week."""
        return self.sets_per_week * self.maximal_share

    @property
    def spacing(self) -> float:
        """Days between two counting sets."""
        return DAYS_PER_WEEK / self.counting_per_week


@dataclass(frozen=True, slots=True)
class Question:
    """A decline is to be called within so many weeks of its onset with this probability."""

    weeks: float = 3.0
    power: float = 0.8


@dataclass(frozen=True, slots=True)
class Outlook:
    """What a habit gives.

    Attributes
    ----------
    detectable_percent : float or None
        Smallest decline of both sides of a direction that is called in time; None where the time holds fewer
        than `FEWEST_SETS` counting sets, or beyond 50 %.
    interval_half_width_percent : float
        Upper half of the 95 % interval of one side's level, in % of it, on an average day.
    """

    detectable_percent: float | None
    interval_half_width_percent: float


def outlook_of(habit: Habit, question: Question, protocol: Protocol) -> Outlook:
    """Smallest decline that a habit shows in time, and the width of its intervals.

    Parameters
    ----------
    habit : Habit
    question : Question
    protocol : Protocol
        ``trend``, ``reps_standard``, ``summary`` and ``false_calls_per_season`` are used.

    Returns
    -------
    Outlook

    Notes
    -----
    A decline is a ramp of the log level over 21 days. See `detection_probability`; here it is solved for the depth.
    Of simulated athletes with 1.4 to 6 counting sets a week and typical errors of 4.5 to 7.8 % who declined by the
    figure for a power of 80 %, the engine called 76 to 90 % in time; the depth that it called in 80 % lay between
    11 % below the figure and 8 % above. Athletes here are regular: gaps between sets make it too hopeful.
    """
    detectable = None
    if habit.counting_per_week * question.weeks >= FEWEST_SETS:
        seen = _information(habit, question, protocol)
        lead = _lead(habit, protocol)

        def missing(log_decline: float) -> float:
            return _probability(seen, lead, log_decline) - question.power

        largest = -math.log1p(-LARGEST_DECLINE)
        if missing(largest) > 0:
            detectable = -100 * math.expm1(-float(brentq(missing, 0.0, largest)))
    half = NORMAL_95 * math.sqrt(_level_variance(habit, protocol))
    return Outlook(detectable, 100 * math.expm1(min(half, LARGEST_LOG)))


def detection_probability(habit: Habit, question: Question, protocol: Protocol, decline_percent: float) -> float | None:
    """Probability that a decline of both sides of a direction is called in time; the power asked for is not used.

    Parameters
    ----------
    habit : Habit
    question : Question
    protocol : Protocol
    decline_percent : float
        Full depth of the decline, above 0 and below 100.

    Returns
    -------
    float or None
        None where the time holds fewer than `FEWEST_SETS` counting sets.

    Notes
    -----
    The log likelihood ratio of a ramp of the bank of depth h (on the log scale) against none is normal with mean
    K(hδ − h²/2) and variance Kh² under a true ramp of depth δ, K being the sum of the squared signatures of a ramp
    of depth 1 in the innovations, each over its variance. A call is due when it exceeds the threshold of
    the calls plus the log of the number of hypotheses, less the log of those that rise together. Outliers
    take their share of the information. The better of the bank's depths is taken.
    """
    if habit.counting_per_week * question.weeks < FEWEST_SETS:
        return None
    return _probability(
        _information(habit, question, protocol), _lead(habit, protocol), -math.log1p(-decline_percent / 100)
    )


@dataclass(frozen=True, slots=True)
class _Component:
    """A sum or difference of length 1 of the four log levels: drift per day, noise variance, part in a level and ramp.

    ``level`` is the square of the weight with which one level holds it; ``ramp`` is how far it moves when
    both sides of a direction move by 1.
    """

    drift: float
    noise: float
    level: float
    ramp: float

    def predicted(self, spacing: float) -> float:
        """Variance before each set once the filter is steady: the positive root of the Riccati equation."""
        gained = self.drift * spacing
        return (gained + math.sqrt(gained**2 + 4 * gained * self.noise)) / 2

    def seen(self, spacing: float, first: float, days: float) -> float:
        """Sum of squared innovations over their variance that a ramp of depth 1 leaves from day `first` on."""
        predicted = self.predicted(spacing)
        total = predicted + self.noise
        followed, squares = 0.0, 0.0
        for day in np.arange(first, days, spacing):
            surprise = self.ramp * min(float(day) / RAMP_DAYS, 1.0) - followed
            followed += predicted / total * surprise
            squares += surprise**2
        return squares / total


def _components(parameters: Parameters, noise_scale: float) -> tuple[_Component, ...]:
    """Sum of the four levels, squeeze less spread, and left less right in both directions."""
    model = model_at(parameters, noise_scale)
    noise = noise_variance(parameters.reps_standard, parameters)
    shared = min(parameters.side_noise_correlation * parameters.noise_sd**2, LARGEST_CORRELATION * noise)
    both = model.noise_scale * (noise + shared)
    between = model.noise_scale * (noise - shared)
    usual = 1 - parameters.outlier_share
    own = model.drift - model.drift_shared
    return (
        _Component(own + 4 * model.drift_shared, (both + 4 * model.session) / usual, 0.25, 1.0),
        _Component(own, both / usual, 0.25, 1.0),
        _Component(own, between / usual, 0.5, 0.0),
    )


def _of(habit: Habit, protocol: Protocol) -> tuple[_Component, ...]:
    # Quantities differ in where a level starts alone, which a steady state has forgotten.
    return _components(parameters_for(protocol, Quantity.FORCE), habit.noise_scale)


def _level_variance(habit: Habit, protocol: Protocol) -> float:
    """Variance of one log level half way between two sets."""
    variance = 0.0
    for component in _of(habit, protocol):
        predicted = component.predicted(habit.spacing)
        filtered = predicted * component.noise / (predicted + component.noise)
        variance += component.level * (filtered + component.drift * habit.spacing / 2)
    return variance


def _information(habit: Habit, question: Question, protocol: Protocol) -> list[float]:
    """K for each place of the onset between two sets."""
    days = question.weeks * DAYS_PER_WEEK
    firsts = (np.arange(PHASES) + 0.5) / PHASES * habit.spacing
    components = _of(habit, protocol)
    return [sum(one.seen(habit.spacing, float(first), days) for one in components) for first in firsts]


def _lead(habit: Habit, protocol: Protocol) -> float:
    """Log likelihood ratio that the true hypothesis has to reach."""
    rate = np.array([habit.counting_per_week])
    threshold = float(thresholds_at(rate, protocol.false_calls_per_season)[0])
    return threshold + math.log(PATTERN_COUNT * len(DEPTHS) / RISING_TOGETHER)


def _probability(seen: Sequence[float], lead: float, log_decline: float) -> float:
    information = np.maximum(np.array(seen), 1e-300)[:, np.newaxis]
    depth = -np.log1p(-np.array(DEPTHS))
    mean = information * depth * (log_decline - depth / 2)
    return float(ndtr((mean - lead) / (np.sqrt(information) * depth)).max(axis=1).mean())
