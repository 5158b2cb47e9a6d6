"""The filter of readings, outliers and bounds, and the bank of declines, against a plain slow version.

Here every formula of the model stands as a textbook writes it: selector matrices, an inverse for each
component, a mixture collapsed component by component, one hypothesis after the other.
"""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import log_ndtr, logsumexp

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.order_statistics import variance_of_largest
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend.decline_bank import bank_of
from stillset_core.trend.filtering import NO_CLONES, filter_readings
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import Parameters, model_at, parameters_for
from stillset_core.trend.rows import rows_of

START = datetime(2030, 1, 7, 16, tzinfo=UTC)
KEY = SeriesKey("supine", 60.0, InstrumentKind.FIXED_FRAME, Quantity.FORCE)
ENGINE = parameters_for(Protocol(), Quantity.FORCE)
KAPPA = 1.2
Vector = NDArray[np.float64]


def invented_season() -> list[Reading]:
    """Eighty days with maximal and lighter sets, missing sides, an outlier, and some shared sessions."""
    rng = np.random.default_rng(11)
    made = []
    day, session = 0.0, 0
    for i in range(36):
        if i % 4:
            day += float(rng.uniform(0.5, 5.0))
            session += 1
        for direction in Direction:
            forces = 300 * np.exp(rng.normal(0, 0.06, size=2)) * (0.6 if i == 9 else 1.0)
            left, right = (float(force) if rng.random() < 0.85 else None for force in forces)
            if left is None and right is None:
                left = 300.0
            if i % 3 == 1:
                value: Counted | Bound = Bound(left, right)
            else:
                reps = int(rng.integers(1, 6))
                value = Counted(left, right, left, right, reps, reps, reps)
            made.append(Reading(f"set-{i:02d}", START + timedelta(days=day), session, direction, value, KEY))
    return sorted(made, key=lambda reading: reading.order)


SEASON = invented_season()


class PlainFilter:
    """Mean and covariance of four levels and the session effect."""

    def __init__(self, engine: Parameters, kappa: float) -> None:
        self.engine, self.kappa = engine, kappa
        self.mean = np.array([engine.prior_mean_log] * 4 + [0.0])
        self.covariance = np.diag([engine.prior_sd**2] * 4 + [0.0])
        self.weights = (1 - engine.outlier_share, engine.outlier_share)

    def copy(self) -> "PlainFilter":
        other = PlainFilter(self.engine, self.kappa)
        other.mean, other.covariance = self.mean.copy(), self.covariance.copy()
        return other

    def advance(self, days: float, *, new_session: bool) -> None:
        c = self.engine.drift_correlation
        drift = self.engine.drift_per_sqrt_day**2 * days
        self.covariance[:4, :4] += drift * ((1 - c) * np.eye(4) + c * np.ones((4, 4)))
        if new_session:
            self.mean[4] = 0
            self.covariance[4, :] = self.covariance[:, 4] = 0
            self.covariance[4, 4] = (self.kappa * self.engine.session_sd) ** 2

    def absorb(self, reading: Reading, shift: Vector) -> float:
        first = 2 if reading.direction is Direction.SPREAD else 0
        if isinstance(reading.value, Counted):
            return self.count(reading.value, first, shift)
        total = 0.0
        for level, force in ((first, reading.value.left), (first + 1, reading.value.right)):
            if force is not None:
                total += self.bound(math.log(force) - shift[level], level)
        return total

    def count(self, value: Counted, first: int, shift: Vector) -> float:
        engine = self.engine
        sides = [
            (first + k, force, reps)
            for k, (force, reps) in enumerate(
                [(value.adjusted_left, value.reps_left), (value.adjusted_right, value.reps_right)]
            )
            if force is not None
        ]
        selector = np.zeros((len(sides), 5))
        for row, (level, _, _) in enumerate(sides):
            selector[row, [level, 4]] = 1
        y = np.array([math.log(force) - shift[level] for level, force, _ in sides])
        usual = engine.noise_sd**2
        own = [usual + (variance_of_largest(n) - variance_of_largest(3)) * engine.rep_sd**2 for _, _, n in sides]
        noise = np.full((len(sides), len(sides)), engine.side_noise_correlation * usual)
        np.fill_diagonal(noise, own)
        outlier = np.full((len(sides), len(sides)), engine.outlier_side_correlation * engine.outlier_sd**2)
        np.fill_diagonal(outlier, engine.outlier_sd**2)
        residual = y - selector @ self.mean
        logs, means, covariances = [], [], []
        for weight, extra in zip(self.weights, (0 * outlier, outlier), strict=True):
            spread = selector @ self.covariance @ selector.T + self.kappa**2 * noise + extra
            gain = self.covariance @ selector.T @ np.linalg.inv(spread)
            distance = residual @ np.linalg.inv(spread) @ residual
            logs.append(math.log(weight) - 0.5 * distance - 0.5 * math.log(np.linalg.det(2 * np.pi * spread)))
            means.append(self.mean + gain @ residual)
            covariances.append(self.covariance - gain @ selector @ self.covariance)
        return self.mix(logs, means, covariances)

    def bound(self, log_bound: float, level: int) -> float:
        engine = self.engine
        h = np.zeros(5)
        h[[level, 4]] = 1
        noise = self.kappa * engine.noise_sd
        above = h @ self.mean - log_bound + engine.bound_margin * noise
        logs, means, covariances = [], [], []
        for weight, extra in zip(self.weights, (0.0, engine.outlier_sd**2), strict=True):
            sd = math.sqrt(h @ self.covariance @ h + noise**2 + extra)
            z = above / sd
            slope = math.exp(-0.5 * z**2 - 0.5 * math.log(2 * math.pi) - log_ndtr(z))
            ph = self.covariance @ h
            logs.append(math.log(weight) + float(log_ndtr(z)))
            means.append(self.mean + ph * slope / sd)
            covariances.append(self.covariance - np.outer(ph, ph) * slope * (slope + z) / sd**2)
        return self.mix(logs, means, covariances)

    def mix(self, logs: list[float], means: list[Vector], covariances: list[Vector]) -> float:
        total = float(logsumexp(logs))
        shares = np.exp(np.array(logs) - total)
        self.mean = sum(share * mean for share, mean in zip(shares, means, strict=True))
        self.covariance = sum(
            share * (covariance + np.outer(mean - self.mean, mean - self.mean))
            for share, mean, covariance in zip(shares, means, covariances, strict=True)
        )
        return total


def day_of(reading: Reading) -> float:
    return (reading.performed_at - START) / timedelta(days=1)


def plain_run(kappa: float) -> tuple[float, list[Vector], list[Vector]]:
    plain = PlainFilter(ENGINE, kappa)
    total, means, covariances = 0.0, [], []
    for i, reading in enumerate(SEASON):
        before = SEASON[i - 1] if i else reading
        plain.advance(day_of(reading) - day_of(before), new_session=i == 0 or reading.session != before.session)
        total += plain.absorb(reading, np.zeros(4))
        means.append(plain.mean[:4].copy())
        covariances.append(plain.covariance[:4, :4].copy())
    return total, means, covariances


def test_moments_and_likelihood_equal_the_plain_filter() -> None:
    run = filter_readings(rows_of(SEASON, ENGINE), ENGINE, model_at(ENGINE, KAPPA), NO_CLONES, day_of(SEASON[-1]))
    total, means, covariances = plain_run(KAPPA)
    assert run.log_likelihood == pytest.approx(total, abs=1e-9)
    assert run.mean == pytest.approx(np.array(means), abs=1e-11)
    assert run.covariance == pytest.approx(np.array(covariances), abs=1e-11)


def test_the_noise_scale_equals_the_weighted_mean_over_nine_plain_runs() -> None:
    logs = np.linspace(-0.75, 0.75, 9)
    weights = np.array([plain_run(math.exp(log))[0] for log in logs]) - 0.5 * (logs / 0.25) ** 2
    shares = np.exp(weights - logsumexp(weights))
    assert noise_scale_of(rows_of(SEASON, ENGINE), ENGINE) == pytest.approx(math.exp(shares @ logs), abs=1e-10)


PATTERNS = [(1, 1, 0, 0), (1, 0.3, 0, 0), (0.3, 1, 0, 0), (0, 0, 1, 1), (0, 0, 1, 0.3), (0, 0, 0.3, 1)]


def plain_statistics() -> list[float]:
    """Statistic after each reading: for each onset and decline a filter of its own, from the onset on."""
    ratios: list[list[float]] = [[] for _ in SEASON]
    for onset in np.arange(0, day_of(SEASON[-1]) + 0.001, 7.0):
        for pattern in PATTERNS:
            for depth in (0.06, 0.12):
                add_ratios(ratios, float(onset), math.log(1 - depth) * np.array(pattern))
    return [float(logsumexp(ratio)) - math.log(12) for ratio in ratios]


def add_ratios(ratios: list[list[float]], onset: float, decline: Vector) -> None:
    plain = PlainFilter(ENGINE, KAPPA)
    ramped, log_ratio = plain, 0.0
    for i, reading in enumerate(SEASON):
        before = SEASON[i - 1] if i else reading
        passed, fresh = day_of(reading) - day_of(before), i == 0 or reading.session != before.session
        since = day_of(reading) - onset
        if since >= 0 and ramped is plain:
            ramped = plain.copy()
        plain.advance(passed, new_session=fresh)
        without = plain.absorb(reading, np.zeros(4))
        if ramped is not plain:
            ramped.advance(passed, new_session=fresh)
            log_ratio += ramped.absorb(reading, min(since / 21, 1) * decline) - without
            if since < 56:
                ratios[i].append(log_ratio)


def test_the_statistic_of_the_bank_equals_one_filter_for_each_hypothesis() -> None:
    assert day_of(SEASON[-1]) > 70  # some onsets close
    bank = bank_of(rows_of(SEASON, ENGINE), ENGINE, model_at(ENGINE, KAPPA))
    assert bank.statistic == pytest.approx(np.array(plain_statistics()), abs=1e-9)
