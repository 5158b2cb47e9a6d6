"""Units of measure: UCUM code → quantity and exact factor to SI. The only place with conversion factors.

References
----------
NIST Special Publication 811 (2008), appendix B.8: kilogram-force 9.80665 N and pound-force
4.448 221 615 260 5 N, both exact. Conventional millimetre of mercury, the weight of 1 mm at 13 595.1 kg/m³ and
9.80665 m/s²: 133.322 387 415 Pa, exact by definition; UCUM's own table rounds it to 133.322 Pa, which is not used here.
UCUM (ucum.org), case-sensitive codes.
"""

from dataclasses import dataclass
from typing import Final, Literal, get_args

from stillset_core.records import Quantity

__all__ = ["UNITS", "Unit", "UnitCode"]

UnitCode = Literal["N", "kN", "kgf", "[lbf_av]", "N.m", "mm[Hg]", "kPa", "lbf", "mmHg", "Nm"]
"""Every spelling that a document may use: seven UCUM codes, then three plain spellings."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of measure.

    Attributes
    ----------
    ucum : str
        The UCUM code, equal for two spellings of the same unit.
    quantity : Quantity
        What is measured; its value is the SI unit.
    to_si : float
        Factor from this unit to the SI unit of the quantity.
    """

    ucum: str
    quantity: Quantity
    to_si: float


_POUND_FORCE: Final = Unit("[lbf_av]", Quantity.FORCE, 4.4482216152605)
_NEWTON_METRE: Final = Unit("N.m", Quantity.TORQUE, 1.0)
_MILLIMETRE_OF_MERCURY: Final = Unit("mm[Hg]", Quantity.PRESSURE, 133.322387415)

UNITS: Final[dict[str, Unit]] = {
    "N": Unit("N", Quantity.FORCE, 1.0),
    "kN": Unit("kN", Quantity.FORCE, 1000.0),
    "kgf": Unit("kgf", Quantity.FORCE, 9.80665),
    "[lbf_av]": _POUND_FORCE,
    "lbf": _POUND_FORCE,
    "N.m": _NEWTON_METRE,
    "Nm": _NEWTON_METRE,
    "mm[Hg]": _MILLIMETRE_OF_MERCURY,
    "mmHg": _MILLIMETRE_OF_MERCURY,
    "kPa": Unit("kPa", Quantity.PRESSURE, 1000.0),
}
"""Every accepted spelling and its unit."""

if set(UNITS) != set(get_args(UnitCode)):  # pragma: no cover
    raise AssertionError("the table of units and the accepted spellings differ")
