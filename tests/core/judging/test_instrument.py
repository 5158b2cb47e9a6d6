"""Rule of the instrument's kind."""

from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import Instrument, InstrumentKind


def test_another_kind_of_instrument_is_set_aside(a_set, judged_one):
    outcome = judged_one(a_set(instrument=Instrument(InstrumentKind.HAND_HELD)))
    assert outcome.standing is Standing.SET_ASIDE
    text = "Measured with a hand-held instrument; the standard position is for fixed-frame."
    assert outcome.reasons == (Remark("other-instrument", "hand-held", "fixed-frame", text),)


def test_another_instrument_of_the_same_kind_counts(a_set, judged_one):
    outcome = judged_one(a_set(instrument=Instrument(InstrumentKind.FIXED_FRAME, serial="B-2")))
    assert outcome.standing is Standing.COUNTS


def test_without_a_standard_position_no_kind_is_asked_for(a_set, judged_one):
    outcome = judged_one(a_set(instrument=Instrument(InstrumentKind.HAND_HELD)), standard=None)
    assert [reason.rule for reason in outcome.reasons] == ["no-standard-position"]
