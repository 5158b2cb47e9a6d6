"""The filter against the same equations in 60 digits, with parameters near the ends of what they may be.

Double precision loses digits where correlations come near 1, where a start is wide against the noise, and
where a bound lies far above the level; here it must keep at least eight of them.
"""

from datetime import UTC, datetime, timedelta

import mpmath as mp
import numpy as np
import pytest

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.order_statistics import variance_of_largest
from stillset_core.protocol import EngineOverrides, Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend import trend_of
from stillset_core.trend.parameters import Parameters, parameters_for

START = datetime(2030, 1, 7, 16, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
FIXED_NOISE = {"noise_scale_prior_sd": 0.0}


def invented_season() -> list[Reading]:
    """Fifty readings of both directions, in sessions of two to four; bounds up to three times the level."""
    rng = np.random.default_rng(23)
    made = []
    for i in range(25):
        session = i // 2
        day = session * 3 + (i % 2) * 0.02
        for direction in Direction:
            left, right = (float(force) for force in 300 * np.exp(rng.normal(0, 0.06, size=2)))
            if i % 5 == 3:
                factor = 3.0 if i == 13 else 0.8
                value: Counted | Bound = Bound(factor * left, factor * right)
            else:
                reps = int(rng.integers(1, 5))
                value = Counted(left, right, left, right, reps, reps, reps)
            made.append(Reading(f"set-{i:02d}", START + timedelta(days=day), session, direction, value, KEY))
    return sorted(made, key=lambda reading: reading.order)


SEASON = invented_season()


class SixtyDigits:
    """Mean and covariance of four levels and the session effect."""

    def __init__(self, engine: Parameters) -> None:
        self.engine = engine
        self.weights = [(mp.log(1 - mp.mpf(engine.outlier_share)), 0), (mp.log(engine.outlier_share), 1)]
        self.mean = mp.matrix([engine.prior_mean_log] * 4 + [0])
        self.covariance = mp.zeros(5)
        self.add(mp.mpf(engine.prior_sd) ** 2, engine.prior_side_correlation)

    def add(self, variance: mp.mpf, correlation: float) -> None:
        for j in range(4):
            for k in range(4):
                self.covariance[j, k] += variance * (1 if j == k else mp.mpf(correlation))

    def advance(self, days: float, *, new_session: bool) -> None:
        self.add(mp.mpf(self.engine.drift_per_sqrt_day) ** 2 * days, self.engine.drift_correlation)
        if new_session:
            self.mean[4] = 0
            for j in range(5):
                self.covariance[4, j] = self.covariance[j, 4] = 0
            self.covariance[4, 4] = mp.mpf(self.engine.session_sd) ** 2

    def count(self, value: Counted, first: int) -> None:
        engine = self.engine
        usual, outlier = mp.mpf(engine.noise_sd) ** 2, mp.mpf(engine.outlier_sd) ** 2
        excess = variance_of_largest(value.maximal_reps) - variance_of_largest(3)
        own, shared = usual + excess * mp.mpf(engine.rep_sd) ** 2, usual * mp.mpf(engine.side_noise_correlation)
        selector = mp.zeros(2, 5)
        for side in range(2):
            selector[side, first + side] = selector[side, 4] = 1
        residual = mp.matrix([mp.log(value.adjusted_left), mp.log(value.adjusted_right)]) - selector * self.mean
        parts = []
        for log_weight, far in self.weights:
            apart = far * outlier * mp.mpf(engine.outlier_side_correlation)
            noise = mp.matrix([[own + far * outlier, shared + apart], [shared + apart, own + far * outlier]])
            spread = selector * self.covariance * selector.T + noise
            gain = self.covariance * selector.T * spread**-1
            log_density = -((residual.T * spread**-1 * residual)[0] + mp.log(mp.det(spread))) / 2
            mean, covariance = self.mean + gain * residual, self.covariance - gain * selector * self.covariance
            parts.append((log_weight + log_density, mean, covariance))
        self.mix(parts)

    def bound(self, force: float, level: int) -> None:
        noise = mp.mpf(self.engine.noise_sd)
        h = mp.zeros(5, 1)
        h[level] = h[4] = 1
        above = (h.T * self.mean)[0] - mp.log(force) + mp.mpf(self.engine.bound_margin) * noise
        ph = self.covariance * h
        parts = []
        for log_weight, far in self.weights:
            sd = mp.sqrt((h.T * ph)[0] + noise**2 + far * mp.mpf(self.engine.outlier_sd) ** 2)
            z = above / sd
            share = mp.ncdf(z)
            slope = mp.npdf(z) / share
            covariance = self.covariance - ph * ph.T * (slope * (slope + z) / sd**2)
            parts.append((log_weight + mp.log(share), self.mean + ph * (slope / sd), covariance))
        self.mix(parts)

    def mix(self, parts: list[tuple[mp.mpf, mp.matrix, mp.matrix]]) -> None:
        shares = [mp.exp(log_share) for log_share, _, _ in parts]
        total = mp.fsum(shares)
        mean = sum((share / total * part for share, (_, part, _) in zip(shares, parts, strict=True)), mp.zeros(5, 1))
        self.covariance = sum(
            (
                share / total * (own + (part - mean) * (part - mean).T)
                for share, (_, part, own) in zip(shares, parts, strict=True)
            ),
            mp.zeros(5),
        )
        self.mean = mean


def filtered(engine: Parameters) -> SixtyDigits:
    exact = SixtyDigits(engine)
    before = SEASON[0]
    for i, reading in enumerate(SEASON):
        days = (reading.performed_at - before.performed_at) / timedelta(days=1)
        exact.advance(days, new_session=i == 0 or reading.session != before.session)
        before = reading
        first = 2 if reading.direction is Direction.SPREAD else 0
        if isinstance(reading.value, Counted):
            exact.count(reading.value, first)
        else:
            exact.bound(reading.value.left, first)
            exact.bound(reading.value.right, first + 1)
    return exact


@pytest.mark.parametrize(
    "overrides",
    [
        {},
        {"side_noise_correlation": 0.9999, "rep_sd": 0.0},
        {"side_noise_correlation": 0.9999, "rep_sd": 0.0, "drift_per_sqrt_day": 0.0, "session_sd": 0.5},
        {"prior_side_correlation": 0.999999, "drift_correlation": 0.9999, "outlier_side_correlation": 0.9999},
        {"prior_sd": 10.0, "noise_sd": 0.001, "rep_sd": 0.0},
        {"outlier_sd": 10.0, "session_sd": 1.0, "outlier_share": 0.5},
        {"noise_sd": 0.005, "rep_sd": 0.004, "bound_margin": 0.0, "drift_per_sqrt_day": 0.001},
    ],
)
def test_double_precision_keeps_eight_digits_at_the_ends_of_every_parameter(overrides: dict[str, float]) -> None:
    protocol = Protocol(trend=EngineOverrides(**FIXED_NOISE, **overrides))
    trend = trend_of(SEASON, protocol, SEASON[-1].performed_at)
    with mp.workdps(60):
        exact = filtered(parameters_for(protocol, Quantity.FORCE))
        mean = np.array([float(exact.mean[j]) for j in range(4)])
        covariance = np.array([[float(exact.covariance[j, k]) for k in range(4)] for j in range(4)])
    assert trend.mean == pytest.approx(mean, rel=1e-8)
    assert trend.covariance == pytest.approx(covariance, rel=1e-8, abs=1e-8 * float(covariance.diagonal().min()))
