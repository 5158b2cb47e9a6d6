"""Standings as the API answers them: the worked example of the contract, to the letter."""

import json

import pytest

from stillset_core.judging.answer import standings_answer
from stillset_core.records import Direction, Pain, Quantity, SideForce


def test_the_worked_example_of_the_contract(a_rep, a_set, judged):
    reps = (
        a_rep(hold_s=5.1, started_s=0.0),
        a_rep(
            direction=Direction.SPREAD,
            hold_s=2.1,
            started_s=9.5,
            left=SideForce(265.0, 240.0),
            right=SideForce(270.0, 247.0),
        ),
    )
    answer = standings_answer(judged(a_set(reps=reps, pain=Pain(1.0))), Quantity.FORCE)
    caution = {
        "rule": "pain-during-set",
        "seen": 1,
        "needed": 1,
        "text": "Pain 1 of 10 during the set; the protocol cautions from 1 of 10.",
    }
    reading = answer[0].pop("reading")
    assert answer == [
        {"direction": "squeeze", "standing": "counts", "reasons": [], "cautions": [caution]},
        {
            "direction": "spread",
            "standing": "set_aside",
            "reasons": [
                {
                    "rule": "hold-too-short",
                    "seen": 2.1,
                    "needed": 3.0,
                    "text": "Held 2.1 s; the protocol needs at least 3.0 s.",
                }
            ],
            "cautions": [caution],
            "reading": None,
        },
    ]
    assert list(reading) == ["left", "right", "unit", "maximal_reps", "adjusted_left", "adjusted_right"]
    assert (reading["left"], reading["right"], reading["unit"], reading["maximal_reps"]) == (312.0, 298.0, "N", 1)
    assert reading["adjusted_left"] == pytest.approx(322.7, abs=0.05)
    assert reading["adjusted_right"] == pytest.approx(308.3, abs=0.05)


def test_a_bound_says_that_it_is_one(a_rep, a_set, judged):
    record = a_set(reps=(a_rep(intended_percent=80.0, right=None),), quantity=Quantity.PRESSURE)
    (answer,) = standings_answer(judged(record), Quantity.PRESSURE)
    assert answer["standing"] == "at_least"
    assert answer["reading"] == {"left": 312.0, "right": None, "unit": "Pa", "bound": True}


def test_a_side_that_was_not_measured_is_null(a_rep, a_set, judged):
    (answer,) = standings_answer(judged(a_set(reps=(a_rep(left=None),))), Quantity.FORCE)
    assert answer["reading"]["left"] is None
    assert answer["reading"]["adjusted_left"] is None
    assert answer["reading"]["right"] == 298.0


def test_an_answer_is_plain_json(a_rep, a_set, judged):
    record = a_set(reps=(a_rep(), a_rep(direction=Direction.SPREAD, intended_percent=None)), pain=Pain(present=True))
    answer = standings_answer(judged(record), Quantity.FORCE)
    assert json.loads(json.dumps(answer)) == answer
