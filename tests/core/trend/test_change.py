import math

import pytest
from scipy.stats import norm

from stillset_core.trend.change import State, change_of, state_of


def test_probabilities_are_those_of_a_normal_change() -> None:
    change = change_of(-0.04, 0.03**2, 5)
    assert change.percent == pytest.approx(100 * (math.exp(-0.04) - 1))
    assert change.probability_below == pytest.approx(norm.cdf((math.log(0.95) + 0.04) / 0.03))
    assert change.probability_above == pytest.approx(norm.cdf((-0.04 - math.log(1.05)) / 0.03))
    assert change.low == pytest.approx(100 * (math.exp(-0.04 - 1.959964 * 0.03) - 1))


def test_a_change_without_spread_is_certain() -> None:
    assert change_of(0.0, 0.0, 5).probability_below == 0.0
    assert change_of(-0.1, 0.0, 5).probability_below == 1.0
    assert change_of(0.1, -1e-20, 5).probability_above == 1.0


def test_a_change_of_which_nothing_is_known_keeps_finite_ends() -> None:
    change = change_of(0.01, 1e6, 5)
    assert change.low == -100.0
    assert change.percent < change.high < math.inf


@pytest.mark.parametrize(
    ("mean", "sd", "state"),
    [
        (-0.10, 0.02, State.FALLING),
        (0.10, 0.02, State.RISING),
        (0.0, 0.03, State.HOLDING),
        (-0.05, 0.03, State.UNSURE),
        (0.0, 0.1, State.UNSURE),
    ],
)
def test_the_state_says_how_sure_the_change_is(mean: float, sd: float, state: State) -> None:
    assert state_of(change_of(mean, sd**2, 5), in_alarm=False) is state


def test_an_alarm_makes_any_state_falling() -> None:
    assert state_of(change_of(0.1, 0.02**2, 5), in_alarm=True) is State.FALLING
