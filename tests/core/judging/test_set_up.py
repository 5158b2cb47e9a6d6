"""Looking back on how a series was set up: what is kept, and how far the look back goes."""

from dataclasses import replace

import pytest

from stillset_core.judging.context import NO_SET_UP, SetContext, SetUp
from stillset_core.judging.set_up import SetUpWindow, recent_set_up
from stillset_core.protocol import Protocol


@pytest.fixture
def a_context(a_set, a_standard):
    def build(height=34.0, angle=60.0):
        return SetContext(a_set(position={"bar_height": height, "knee_angle_deg": angle}), a_standard(), Protocol())

    return build


@pytest.fixture
def look_back(a_context):
    """Look back from one set on others, given latest first as (height, angle); also tell how many were looked into."""

    def run(own, *earlier):
        looked_into = []

        def in_series(record):
            looked_into.append(record)
            return replace(a_context(), record=record)

        records = [a_context(*each).record for each in earlier]
        return recent_set_up(a_context(*own), records, in_series), len(looked_into)

    return run


def test_a_window_keeps_the_last_five_of_each_with_the_standard_of_their_time(a_context):
    window = SetUpWindow()
    assert window.set_up() == NO_SET_UP
    for n in range(7):
        window.take(a_context(height=34.0 + n / 100, angle=None))
    window.take(a_context(height=None, angle=61.0))
    assert window.set_up() == SetUp(tuple((34.0 + n / 100, 34.0) for n in range(2, 7)), ((61.0, 60.0),))


def test_a_window_takes_nothing_from_a_set_out_of_position(a_context):
    window = SetUpWindow()
    window.take(a_context(height=36.0))
    window.take(a_context(angle=90.0))
    assert window.set_up() == NO_SET_UP


def test_a_set_whose_bar_height_does_not_drift_asks_for_no_look_back(look_back):
    assert look_back((34.0, 64.0), (34.4, 64.0)) == (NO_SET_UP, 0)


def test_the_look_back_ends_at_the_fifth_bar_height(look_back):
    set_up, looked_into = look_back((34.4, 60.0), *[(34.3, None)] * 9)
    assert set_up.bar_heights == ((34.3, 34.0),) * 5
    assert looked_into == 5


def test_the_look_back_ends_at_a_bar_height_that_does_not_drift(look_back):
    set_up, looked_into = look_back((34.4, 60.0), (34.3, None), (34.0, None), (34.4, None))
    assert set_up.bar_heights == ((34.0, 34.0), (34.3, 34.0))
    assert looked_into == 2


def test_sets_without_a_bar_height_are_passed_over_once_the_angles_are_settled(look_back):
    in_the_middle, looked_into = look_back((None, 60.0), *[(None, 64.0)] * 50, (34.4, None))
    assert in_the_middle == SetUp(bar_heights=((34.4, 34.0),))
    assert looked_into == 1
    drifting, looked_into = look_back((None, 64.0), (None, 63.0), (None, 60.0), *[(None, 64.0)] * 50)
    assert drifting.knee_angles == ((60.0, 60.0), (63.0, 60.0))
    assert looked_into == 2
    enough, looked_into = look_back((None, 64.0), *[(None, 63.0)] * 50)
    assert enough.knee_angles == ((63.0, 60.0),) * 5
    assert looked_into == 5
