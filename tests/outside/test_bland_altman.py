"""Within-person SD against Bland & Altman 1986, Lancet i:307-310: peak flow of 17 people, two readings each.

Data as found in several public repositories.
"""

import math

import numpy as np
import pytest

from stillset_core.reliability import (
    IccForm,
    intraclass_correlations,
    mean_squares,
    typical_error,
    typical_error_about_zero,
)

LARGE = [
    (494, 490), (395, 397), (516, 512), (434, 401), (476, 470), (557, 611), (413, 415), (442, 431), (650, 638),
    (433, 429), (417, 420), (656, 633), (267, 275), (478, 492), (178, 165), (423, 372), (427, 421),
]  # fmt: skip
SMALL = [
    (512, 525), (430, 415), (520, 508), (428, 444), (500, 500), (600, 625), (364, 460), (380, 390), (658, 642),
    (445, 432), (432, 420), (626, 605), (260, 227), (477, 467), (259, 268), (350, 370), (451, 443),
]  # fmt: skip


@pytest.mark.parametrize(
    ("meter", "about_zero", "about_mean"), [(LARGE, 15.306669, 15.361215), (SMALL, 19.9108, 20.4158)]
)
def test_the_two_definitions_in_use_differ_and_each_has_its_name(meter, about_zero, about_mean):
    tolerance = 1e-5 if meter is LARGE else 1e-4
    assert typical_error_about_zero(meter).value == pytest.approx(about_zero, abs=tolerance)
    assert typical_error(meter).value == pytest.approx(about_mean, abs=tolerance)


def test_the_paper_prints_15_3_for_the_definition_about_zero():
    assert round(typical_error_about_zero(LARGE).value, 1) == 15.3


@pytest.mark.parametrize(("meter", "icc"), [(LARGE, 0.98316), (SMALL, 0.96847)])
def test_the_agreement_of_two_readings_is_as_computed_elsewhere(meter, icc):
    assert intraclass_correlations(meter)[IccForm.AGREEMENT].value == pytest.approx(icc, abs=1e-5)


def test_limits_of_agreement_of_the_two_meters_are_the_typical_error_twice_over():
    # First readings: mean difference -2.1 and SD 38.8 as printed; limits at 1.96 SD -78.1 and 73.9 (computed).
    first = [(large[0], small[0]) for large, small in zip(LARGE, SMALL, strict=True)]
    mean = float(np.mean([large - small for large, small in first]))
    sd = math.sqrt(2) * typical_error(first).value
    assert (mean, sd) == pytest.approx((-2.117647, 38.765130), abs=1e-6)
    assert (mean - 1.96 * sd, mean + 1.96 * sd) == pytest.approx((-78.0973, 73.8620), abs=1e-4)
    assert mean_squares(first).error == pytest.approx(sd**2 / 2)
