"""Traces drawn with a pencil, and what is measured in them."""

import numpy as np
import pytest

from stillset_core.records import Quantity
from stillset_core.trace import SampledForce
from stillset_core.trace.measures import measures_in_trace


def line(rate_hz, *pieces, noise=0.0, seed=1):
    """Draw straight lines through (seconds, newtons) steps from 0, with normal noise."""
    times = np.concatenate(([0.0], np.cumsum([seconds for seconds, _ in pieces])))
    forces = np.concatenate(([0.0], [force for _, force in pieces]))
    places = np.arange(round(times[-1] * rate_hz) + 1) / rate_hz
    return np.interp(places, times, forces) + noise * np.random.default_rng(seed).standard_normal(places.size)


@pytest.fixture(scope="session")
def draw():
    return line


@pytest.fixture(scope="session")
def draw_holds():
    """Give a maker of trapezoids: 2 s of rest, 1 s up, 3 s of plateau, 0.5 s down, each; and 2 s of rest at the end."""

    def holds(rate_hz, *forces, noise=0.0, seed=1):
        pieces = [piece for force in forces for piece in ((2, 0), (1, force), (3, force), (0.5, 0))]
        return line(rate_hz, *pieces, (2, 0), noise=noise, seed=seed)

    return holds


@pytest.fixture(scope="session")
def measure():
    def reps(left=None, right=None, rate_hz=1000, quantity=Quantity.FORCE):
        return measures_in_trace(SampledForce(rate_hz, left, right, quantity)).reps

    return reps
