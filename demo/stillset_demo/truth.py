"""What is really so: the latent strength of every athlete on every day, and the stories planted in it.

The simulator resembles the model of the trend engine on purpose (log levels that drift, an effect per session, a noise
shared by both sides of a set, noise per rep, outliers). Agreement with it shows that the programs do what the model
says, not that the model is true of athletes.

Columns of every level array are squeeze left, squeeze right, spread left, spread right; values are natural
logarithms of newtons for the best of three maximal reps.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillset_demo.roster import ATHLETES, Athlete
from stillset_demo.weeks import DAYS

__all__ = [
    "COLUMNS",
    "DRIFTING_SERIAL",
    "INJURY_ENDS",
    "REHABILITATION_ENDS",
    "STORIES",
    "Kind",
    "Latent",
    "Story",
    "latent_of",
]

COLUMNS = (("squeeze", "left"), ("squeeze", "right"), ("spread", "left"), ("spread", "right"))
DRIFTING_SERIAL = "F-03"

# Sizes of an invented women's squad on a fixed frame, one side (within the plausible 50-700 N; no population is meant).
MEAN_SQUEEZE_N = 275.0
SQUAD_SD_LOG = 0.14
MEAN_RATIO_LOG, RATIO_SD_LOG = 0.05, 0.08
SIDE_SD_LOG = 0.03
DOMINANT_LOG = 0.015

# A drift that is drawn back, so that a quiet athlete is truly quiet: SD 2 %, memory 60 days (0.0037 per √day).
DRIFT_SD_LOG = 0.02
DRIFT_MEMORY_DAYS = 60.0
DRIFT_CORRELATION = 0.5
PRESEASON_GAIN_LOG = 0.015
NOISE_SCALE_SD_LOG = 0.15

# The largest movement of a squad's mean in Crow et al. 2010 (J Sci Med Sport): -2.6 % in one week.
SQUAD_DIP_LOG = float(np.log(1 - 0.026))
SQUAD_DIP_WEEK = 26

Levels = NDArray[np.float64]


class Kind(StrEnum):
    """Kinds of planted story."""

    SLOW_DECLINE = "slow-decline"
    SUDDEN_DROP = "sudden-drop"
    NEVER_MAXIMAL = "never-maximal"
    BAR_MOVED = "bar-moved"
    INSTRUMENT_DRIFT = "instrument-drift"


@dataclass(frozen=True, slots=True)
class Story:
    """One planted story.

    Attributes
    ----------
    kind : Kind
    athletes : tuple of str
        Whom it concerns.
    onset, complete : int
        Day on which it begins, and day from which its full size holds.
    size : float
        Full size as a change of the log level (or of what is read), in the columns where ``weights`` is 1.
    weights : tuple of float
        Share of ``size`` in each column.
    pain : float
        Score (0-10) at its height; site in ``site``.
    """

    kind: Kind
    athletes: tuple[str, ...]
    onset: int
    complete: int
    size: float
    weights: tuple[float, float, float, float]
    pain: float = 0.0
    site: str = ""

    @property
    def moves_the_athlete(self) -> bool:
        """Whether strength itself changes, rather than what is read of it."""
        return self.kind in {Kind.SLOW_DECLINE, Kind.SUDDEN_DROP}


STORIES = (
    Story(
        Kind.SLOW_DECLINE,
        ("MB-07",),
        206,
        276,
        float(np.log(0.87)),
        (1.0, 1.0, 0.0, 0.0),
        5.0,
        "both sides of the groin",
    ),
    Story(Kind.SLOW_DECLINE, ("MB-15",), 196, 266, float(np.log(0.86)), (0.0, 1.0, 0.0, 0.0), 4.0, "right groin"),
    Story(Kind.SUDDEN_DROP, ("MB-22",), 159, 159, float(np.log(0.75)), (1.0, 0.4, 0.5, 0.2), 7.0, "left groin"),
    Story(Kind.NEVER_MAXIMAL, ("MB-11",), 0, 0, 0.0, (0.0, 0.0, 0.0, 0.0)),
    Story(Kind.BAR_MOVED, ("MB-19",), 170, 170, float(np.log(0.97)), (1.0, 1.0, -0.7, -0.7)),
    Story(
        Kind.INSTRUMENT_DRIFT,
        tuple(athlete.ref for athlete in ATHLETES if athlete.serial == DRIFTING_SERIAL),
        208,
        278,
        float(np.log(0.93)),
        (1.0, 1.0, 1.0, 1.0),
    ),
)

INJURY_ENDS = 178
REHABILITATION_ENDS = 245
"""Last days of the injury and of the rehabilitation of the athlete with the sudden drop."""


@dataclass(frozen=True, slots=True)
class Latent:
    """The truth about one athlete.

    Attributes
    ----------
    level : ndarray, shape (DAYS, 4)
        Log strength in the standard position.
    read_offset : ndarray, shape (DAYS, 4)
        What the instrument or a moved bar adds to every log value read.
    pain : ndarray, shape (DAYS,)
        Expected pain score, 0-10.
    site : str
        Where it hurts, empty where it does not.
    noise_scale : float
        The athlete's own multiple of all noise.
    """

    level: Levels
    read_offset: Levels
    pain: NDArray[np.float64]
    site: str
    noise_scale: float


def latent_of(athlete: Athlete, rng: np.random.Generator) -> Latent:
    """Draw the truth about one athlete for the whole season."""
    level = _start(athlete, rng) + _drift(rng) + _form(rng)
    read_offset = np.zeros((DAYS, 4))
    pain = np.zeros(DAYS)
    site = ""
    for story in STORIES:
        if athlete.ref in story.athletes:
            share = _share(story)
            (level if story.moves_the_athlete else read_offset)[:] += (
                story.size * share[:, None] * np.array(story.weights)
            )
            pain += story.pain * share
            site = story.site
    return Latent(level, read_offset, pain, site, float(np.exp(rng.normal(0.0, NOISE_SCALE_SD_LOG))))


def _start(athlete: Athlete, rng: np.random.Generator) -> Levels:
    squeeze = np.log(MEAN_SQUEEZE_N) + rng.normal(0.0, SQUAD_SD_LOG)
    spread = squeeze - rng.normal(MEAN_RATIO_LOG, RATIO_SD_LOG)
    sides = rng.normal(0.0, SIDE_SD_LOG, 4)
    stronger = DOMINANT_LOG * np.array([1.0, -1.0, 1.0, -1.0]) * (1 if athlete.dominant_side == "left" else -1)
    return np.array([squeeze, squeeze, spread, spread]) + sides + stronger


def _drift(rng: np.random.Generator) -> Levels:
    kept = np.exp(-1 / DRIFT_MEMORY_DAYS)
    shocks = np.sqrt(DRIFT_CORRELATION) * rng.normal(size=(DAYS, 1)) + np.sqrt(1 - DRIFT_CORRELATION) * rng.normal(
        size=(DAYS, 4)
    )
    drift = np.empty((DAYS, 4))
    drift[0] = DRIFT_SD_LOG * shocks[0]
    for day in range(1, DAYS):
        drift[day] = kept * drift[day - 1] + DRIFT_SD_LOG * np.sqrt(1 - kept**2) * shocks[day]
    return drift


def _form(rng: np.random.Generator) -> Levels:
    day = np.arange(DAYS)
    gain = rng.normal(PRESEASON_GAIN_LOG, PRESEASON_GAIN_LOG / 3) * (1 - np.exp(-day / 30))
    dip = np.where(day // 7 == SQUAD_DIP_WEEK, SQUAD_DIP_LOG, 0.0)
    return np.repeat((gain + dip)[:, None], 4, axis=1)


def _share(story: Story) -> NDArray[np.float64]:
    """Share of a story's full size on every day; a sudden drop is held, then recovers by half every 30 days."""
    day = np.arange(DAYS, dtype=np.float64)
    if story.kind is Kind.SUDDEN_DROP:
        return np.where(day < story.onset, 0.0, 0.5 ** (np.maximum(day - INJURY_ENDS + 7, 0.0) / 30))
    if story.onset == story.complete:
        return np.where(day >= story.onset, 1.0, 0.0)
    return np.clip((day - story.onset) / (story.complete - story.onset), 0.0, 1.0)
