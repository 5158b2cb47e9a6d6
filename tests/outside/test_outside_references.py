"""Outside references: each says whom, on what, by whom and with which caution, and stands beside its like only.

Tyler et al. 2001, Am J Sports Med 29(2):124-128: adduction 95 % of abduction in uninjured ice hockey players, 78 %
in those with a later strain. Mosler et al. 2017, J Sci Med Sport 20:339-343: 394 male professional footballers.
"""

import pytest

from stillset_core.outside import REFERENCES, Measure, comparable
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import SeriesKey

EVERY_SERIES = [SeriesKey("supine-bent-knee", 60.0, kind, quantity) for kind in InstrumentKind for quantity in Quantity]
EVERY_QUESTION = [(measure, direction) for measure in Measure for direction in (None, *Direction)]


def series(kind, quantity):
    return SeriesKey("supine-bent-knee", 60.0, kind, quantity)


@pytest.mark.parametrize("reference", REFERENCES)
def test_each_says_whom_on_what_by_whom_and_with_which_caution(reference):
    texts = (
        *(reference.population.who, reference.population.sex, reference.population.sport, reference.position),
        *(reference.publication.source, reference.publication.caution),
    )
    assert all(text.strip() for text in texts)
    assert reference.publication.caution.endswith(".")
    assert reference.population.athletes > 0
    assert reference.value > 0
    assert (reference.direction is None) == (reference.measure is Measure.RATIO)


def test_each_stands_beside_series_of_its_kind_of_instrument_and_quantity_and_no_others():
    shown = {
        (reference, key.instrument_kind, key.quantity)
        for key in EVERY_SERIES
        for measure, direction in EVERY_QUESTION
        for reference in comparable(key, measure, direction)
    }
    assert shown == {(reference, reference.instrument_kind, reference.quantity) for reference in REFERENCES}


def test_a_frame_and_a_cuff_have_no_reference_beside_them():
    for kind in (InstrumentKind.FIXED_FRAME, InstrumentKind.PRESSURE_CUFF):
        for quantity in Quantity:
            assert not any(comparable(series(kind, quantity), *question) for question in EVERY_QUESTION)


def test_the_published_ratios_are_those_of_the_publications():
    beside_force = comparable(series(InstrumentKind.HAND_HELD, Quantity.FORCE), Measure.RATIO, None)
    assert [reference.value for reference in beside_force] == [95 / 100, 78 / 100]  # Tyler et al. 2001
    beside_torque = comparable(series(InstrumentKind.HAND_HELD, Quantity.TORQUE), Measure.RATIO, None)
    assert (beside_torque[0].value, beside_torque[0].sd, beside_torque[0].population.athletes) == (
        1.2,
        0.2,
        394,
    )  # Mosler


def test_forces_printed_in_kg_are_given_in_newtons():
    levels = comparable(series(InstrumentKind.HAND_HELD, Quantity.FORCE), Measure.LEVEL, Direction.SQUEEZE)
    printed = [35.6, 32.0, 25.5]  # kg at hips 0, 45 and 90 degrees, J Sci Med Sport, doi 10.1016/j.jsams.2009.05.001
    assert [reference.value for reference in levels] == pytest.approx([9.80665 * kg for kg in printed], abs=0.05)


def test_none_is_a_mark_to_pass():
    assert 0.80 not in {reference.value for reference in REFERENCES}  # the mark that Tyler et al. proposed
