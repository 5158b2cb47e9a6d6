"""Conversion factors against NIST, UCUM and pint.

Sources: NIST Special Publication 811 (2008), appendix B.8: 1 kgf = 9.806 65 E+00 N and 1 lbf = 4.448 222 E+00 N
(footnote: exactly 4.448 221 615 260 5 N), conventional millimetre of mercury 1.333 224 E+02 Pa.
UCUM: m[Hg] = 133.3220 kPa.
"""

from fractions import Fraction

import pint
import pytest

from stillset_core.records import Quantity
from stillset_core.units import UNITS

_PINT_NAMES = {
    "N": ("newton", "newton"),
    "kN": ("kilonewton", "newton"),
    "kgf": ("kilogram_force", "newton"),
    "[lbf_av]": ("pound_force", "newton"),
    "N.m": ("newton * meter", "joule"),
    "mm[Hg]": ("millimeter_Hg", "pascal"),
    "kPa": ("kilopascal", "pascal"),
}


def test_a_kilogram_force_is_9_80665_n_exactly():
    assert UNITS["kgf"].to_si == 9.80665


def test_a_pound_force_is_the_weight_of_an_avoirdupois_pound_exactly():
    # 1 lb = 0.45359237 kg exactly, standard gravity 9.80665 m/s2 exactly (NIST SP 811, appendix B.8).
    exact = Fraction("0.45359237") * Fraction("9.80665")
    assert exact == Fraction("4.4482216152605")
    assert UNITS["[lbf_av]"].to_si == float(exact)


def test_a_millimetre_of_mercury_is_the_conventional_one_exactly():
    # 13595.1 kg/m3 at standard gravity, a column of 1 mm (NIST SP 811, appendix B.8, "conventional").
    exact = Fraction("13595.1") * Fraction("9.80665") / 1000
    assert exact == Fraction("133.322387415")
    assert UNITS["mm[Hg]"].to_si == float(exact)


def test_ucums_rounded_millimetre_of_mercury_differs_by_three_millionths():
    assert UNITS["mm[Hg]"].to_si / 133.322 - 1 == pytest.approx(2.9e-6, abs=0.1e-6)


@pytest.mark.parametrize("code", _PINT_NAMES)
def test_factors_agree_with_pint(code):
    registry = pint.UnitRegistry()
    unit, si = _PINT_NAMES[code]
    theirs = registry.Quantity(1.0, unit).to(si).magnitude
    assert UNITS[code].to_si == pytest.approx(theirs, rel=1e-7)


def test_every_ucum_code_is_checked_against_pint():
    assert {unit.ucum for unit in UNITS.values()} == set(_PINT_NAMES)


@pytest.mark.parametrize(("plain", "ucum"), [("lbf", "[lbf_av]"), ("mmHg", "mm[Hg]"), ("Nm", "N.m")])
def test_a_plain_spelling_is_the_same_unit(plain, ucum):
    assert UNITS[plain] is UNITS[ucum]


@pytest.mark.parametrize(
    ("quantity", "codes"),
    [
        (Quantity.FORCE, {"N", "kN", "kgf", "[lbf_av]"}),
        (Quantity.TORQUE, {"N.m"}),
        (Quantity.PRESSURE, {"mm[Hg]", "kPa"}),
    ],
)
def test_each_unit_measures_its_quantity(quantity, codes):
    assert {unit.ucum for unit in UNITS.values() if unit.quantity is quantity} == codes
