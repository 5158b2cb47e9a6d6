"""The stop mark against the bands of the five-second squeeze: Thorborg et al. 2017, Br J Sports Med 51:594-599.

0-2, 3-5 and 6-10 of 10. They were made with straight legs and a long lever; the club's clinicians decide.
"""

from datetime import UTC, datetime

import pytest

from stillset_core.pain import PainEntry
from stillset_core.protocol import Protocol
from stillset_core.records import PainWhen

BANDS = {0: "0-2", 2: "0-2", 3: "3-5", 5: "3-5", 6: "6-10", 10: "6-10"}


def stated(score=None, present=None):
    return PainEntry(datetime(2026, 9, 14, tzinfo=UTC), score, present, None, PainWhen.DURING, "s1")


@pytest.mark.parametrize(("score", "band"), BANDS.items())
def test_the_stop_mark_is_reached_in_the_highest_band_and_nowhere_else(score, band):
    assert stated(score).reaches(Protocol().pain_stop_score) is (band == "6-10")


def test_pain_without_a_score_is_pain_and_never_a_zero():
    # Common practice, no source.
    assert stated(present=True).score is None
    assert stated(present=True).reaches(Protocol().pain_stop_score) is False
    assert stated(score=0).reaches(Protocol().pain_caution_score) is False
