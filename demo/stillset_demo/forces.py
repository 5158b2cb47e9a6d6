"""What a frame would show for one set: peaks and means of both sides for every hold, from the latent truth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillset_demo.truth import Latent
from stillset_demo.weeks import days_since_match

__all__ = ["Hold", "PlannedHold", "holds", "session_effect", "trace"]

# The trend engine's published defaults: the simulator resembles the model.
NOISE_SD = 0.052
SIDE_NOISE_CORRELATION = 0.5
SESSION_SD = 0.02
REP_SD = 0.04
OUTLIER_SHARE = 0.04
OUTLIER_SD = 0.20
OUTLIER_SIDE_CORRELATION = 0.5
# Mean and variance of the largest of three standard normals: the latent level is that of the best of three.
LARGEST_OF_3_MEAN, LARGEST_OF_3_VARIANCE = 0.8462843753, 0.5594672038

# Roe et al. 2016 (J Strength Cond Res 30:344-350): change of the squeeze 24, 48 and 72 h after a match.
AFTER_MATCH = {1: -0.007, 2: 0.038, 3: 0.031}
AFTER_MATCH_GAIN_SD = 0.5


@dataclass(frozen=True, slots=True)
class PlannedHold:
    """A hold before it is done: ``effort`` is the share of maximal really given, ``intended`` what the log will say."""

    direction: str
    effort: float
    intended: float | None
    hold_s: float
    started_s: float


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold done; forces in newtons, left then right."""

    plan: PlannedHold
    peak: tuple[float, float]
    mean: tuple[float, float]


def session_effect(latent: Latent, day: int, rng: np.random.Generator) -> float:
    """Good day, bad day, and the days after a match, on the log scale."""
    since = days_since_match(day)
    swing = 0.0 if since is None else AFTER_MATCH.get(since, 0.0)
    return float(
        SESSION_SD * latent.noise_scale * rng.normal() + swing * max(0.0, rng.normal(1.0, AFTER_MATCH_GAIN_SD))
    )


def holds(
    latent: Latent, day: int, shift: float, planned: Sequence[PlannedHold], rng: np.random.Generator
) -> tuple[Hold, ...]:
    """Return the holds of one set done; ``shift`` is the session's and the set's common effect on the log scale."""
    base = latent.level[day] + latent.read_offset[day] + shift - LARGEST_OF_3_MEAN * REP_SD * latent.noise_scale
    of_direction = {
        "squeeze": base[:2] + _set_noise(latent.noise_scale, rng),
        "spread": base[2:] + _set_noise(latent.noise_scale, rng),
    }
    return tuple(_hold(plan, of_direction[plan.direction], latent.noise_scale, rng) for plan in planned)


def _set_noise(scale: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """Noise of left and right that all reps share, and the occasional outlier (pelvis lifted, pads off)."""
    own = NOISE_SD**2 - LARGEST_OF_3_VARIANCE * REP_SD**2
    shared = SIDE_NOISE_CORRELATION * NOISE_SD**2
    noise = scale * _pair(own, shared, rng)
    outlier = _pair(OUTLIER_SD**2, OUTLIER_SIDE_CORRELATION * OUTLIER_SD**2, rng)
    return noise + outlier if rng.random() < OUTLIER_SHARE else noise


def _pair(variance: float, covariance: float, rng: np.random.Generator) -> NDArray[np.float64]:
    common, left, right = rng.normal(size=3)
    own = math.sqrt(variance - covariance)
    pair: NDArray[np.float64] = math.sqrt(covariance) * common + own * np.array([left, right])
    return pair


def _hold(plan: PlannedHold, log_level: NDArray[np.float64], scale: float, rng: np.random.Generator) -> Hold:
    peak = np.exp(log_level + REP_SD * scale * rng.normal(size=2)) * plan.effort
    mean = peak * rng.uniform(0.85, 0.95, 2)
    return Hold(plan, (float(peak[0]), float(peak[1])), (float(mean[0]), float(mean[1])))


def trace(done: Sequence[Hold], rate_hz: float, rng: np.random.Generator) -> dict[str, object]:
    """Return force over time in newtons: squeeze positive, spread negative, with a small zero offset and ripple."""
    end_s = max(hold.plan.started_s + hold.plan.hold_s for hold in done) + 2.0
    at = np.arange(round(end_s * rate_hz)) / rate_hz
    sides = np.stack([np.full(at.size, offset) for offset in (2.4, -1.7)])
    for hold in done:
        into = at - hold.plan.started_s
        shape = np.clip(np.minimum(into / 0.4, (hold.plan.hold_s - into) / 0.3), 0.0, 1.0)
        ripple = 0.95 + 0.05 * np.sin(2 * np.pi * (into / hold.plan.hold_s + rng.random()))
        sign = 1.0 if hold.plan.direction == "squeeze" else -1.0
        sides += sign * np.array(hold.peak)[:, None] * (shape * ripple / np.max(shape * ripple))
    sides += rng.normal(0.0, 0.4, sides.shape)
    left, right = (np.round(side, 1).tolist() for side in sides)
    return {"rate_hz": rate_hz, "left": left, "right": right}
