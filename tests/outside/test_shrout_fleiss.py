"""Intraclass correlations against the table of Shrout & Fleiss 1979, Psychol Bull 86:420-428.

Six subjects rated by four judges (table from memory; its mean squares and correlations were reproduced with
an independent package). The intervals, to two decimals, are those that common packages print for it (from memory).
"""

import pytest

from stillset_core.reliability import IccForm, intraclass_correlations, mean_squares

RATINGS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]


def test_the_mean_squares_are_those_of_the_paper():
    found = mean_squares(RATINGS)
    seen = (found.between, found.within, found.trials, found.error)
    assert seen == pytest.approx((11.241667, 6.263889, 32.486111, 1.019444), abs=1e-6)
    assert (found.df_between, found.df_within, found.df_error) == (5, 18, 15)


@pytest.mark.parametrize(
    ("form", "value", "printed", "low", "high"),
    [
        (IccForm.ONE_WAY, 0.165742, 0.17, -0.13, 0.72),
        (IccForm.AGREEMENT, 0.289764, 0.29, 0.02, 0.76),
        (IccForm.CONSISTENCY, 0.714841, 0.71, 0.34, 0.95),
        (IccForm.ONE_WAY_MEAN, 0.442797, 0.44, -0.88, 0.91),
        (IccForm.AGREEMENT_MEAN, 0.620051, 0.62, 0.07, 0.93),
        (IccForm.CONSISTENCY_MEAN, 0.909316, 0.91, 0.68, 0.99),
    ],
)
def test_each_of_the_six_forms_is_as_printed_with_its_interval(form, value, printed, low, high):
    found = intraclass_correlations(RATINGS)[form]
    assert found.value == pytest.approx(value, abs=1e-6)
    assert round(found.value, 2) == printed
    assert (round(found.low, 2), round(found.high, 2)) == (low, high)
    assert found.n == 6
