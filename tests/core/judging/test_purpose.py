"""Rule of purpose."""

import pytest

from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import Purpose


@pytest.mark.parametrize("purpose", [Purpose.TRAINING, Purpose.TEST])
def test_training_and_test_are_judged_alike(a_set, judged_one, purpose):
    assert judged_one(a_set(purpose=purpose)) == judged_one(a_set())


def test_a_warm_up_is_set_aside_however_hard_it_was(a_set, judged_one):
    outcome = judged_one(a_set(purpose=Purpose.WARM_UP))
    assert outcome.standing is Standing.SET_ASIDE
    assert outcome.reasons == (Remark("warm-up", "warm-up", "training or test", "The set was a warm-up."),)
