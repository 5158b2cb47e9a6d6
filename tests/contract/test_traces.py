"""Traces as simple programs make them: flat holds without noise, several in a row, in both directions."""

import pytest
from outsider import Club, a_set


def flat(*forces: float, rate_hz: int = 100) -> list[float]:
    """Holds of 4 s with 25 s of rest after each, every sample of a hold the same."""
    samples = [0.0] * (2 * rate_hz)
    for force in forces:
        samples += [force] * (4 * rate_hz) + [0.0] * (25 * rate_hz)
    return samples


@pytest.mark.parametrize("rate_hz", [20, 100, 1000])
@pytest.mark.parametrize("forces", [(300.0,), (300.0, 280.0), (300.0, -250.0), (310.0, -250.0, 300.0, -260.0)])
def test_flat_holds_without_noise_are_not_taken_for_clipping(
    club: Club, forces: tuple[float, ...], rate_hz: int
) -> None:
    trace = {"rate_hz": rate_hz, "left": flat(*forces, rate_hz=rate_hz), "right": flat(*forces, rate_hz=rate_hz)}
    answer = club.post(a_set(club.athlete(), reps=..., trace=trace))
    squeezed, spread = [f for f in forces if f > 0], [-f for f in forces if f < 0]
    found = {standing["direction"]: standing for standing in answer["standings"]}
    assert set(found) == {"squeeze"} | ({"spread"} if spread else set())
    for direction, expected in (("squeeze", squeezed), ("spread", spread)):
        if expected:
            assert found[direction]["standing"] == "counts", found[direction]
            assert found[direction]["reading"]["left"] == pytest.approx(max(expected))
            assert found[direction]["reading"]["maximal_reps"] == len(expected)
    assert answer["load"]["hold_s"] == pytest.approx(4 * len(forces), abs=len(forces) * 3 / rate_hz)


def test_a_quarter_of_a_second_at_the_extreme_of_a_lively_hold_is_clipping(club: Club) -> None:
    lively = [300 + (place * 7 % 11) / 2 for place in range(400)]
    for still, rules in ((24, []), (25, ["trace-clipped"])):
        hold = lively[:100] + [320.0] * still + lively[100:]
        trace = {"rate_hz": 100, "left": [0.0] * 200 + hold + [0.0] * 200}
        (standing,) = club.post(a_set(club.athlete(), reps=..., trace=trace))["standings"]
        assert [reason["rule"] for reason in standing["reasons"]] == rules
