"""Outside references: published figures of strength and ratio, each with whom and what it was measured on.

They stand beside a squad's own norms, last of all, and are no pass marks: figures from other sports, positions
of the body and levers differ for much the same athletes. Only those of the same kind of instrument and the same
quantity as a series are comparable to it. Publications that do not state their instrument where they were read
are left out.
"""

from dataclasses import dataclass
from enum import StrEnum

from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import SeriesKey

__all__ = ["REFERENCES", "Measure", "OutsideReference", "Population", "Publication", "Tag", "comparable"]


class Measure(StrEnum):
    """What is spread over a group of athletes."""

    LEVEL = "level"
    LEVEL_PER_BODY_MASS = "level-per-body-mass"
    RATIO = "ratio"
    SIDE_GAP = "side-gap"


class Tag(StrEnum):
    """Whether the publication was read for this table, or is quoted from memory."""

    READ = "read"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Population:
    """Who was measured."""

    who: str
    sex: str
    sport: str
    athletes: int


@dataclass(frozen=True, slots=True)
class Publication:
    """Where it stands, what to keep in mind beside it, and whether it was read."""

    source: str
    caution: str
    tag: Tag


@dataclass(frozen=True, slots=True)
class OutsideReference:
    """A published mean.

    Attributes
    ----------
    measure : Measure
    direction : Direction or None
        None where the measure spans them.
    value, sd : float, float or None
        In the unit of the quantity, the same per kg of body mass, or squeeze ÷ spread.
    instrument_kind : InstrumentKind
    quantity : Quantity
        Of the strength behind it.
    position : str
        Of the body, with the hip angle where one was stated.
    knee_angle_deg : float or None
        None where none was stated.
    population : Population
    publication : Publication
    """

    measure: Measure
    direction: Direction | None
    value: float
    sd: float | None
    instrument_kind: InstrumentKind
    quantity: Quantity
    position: str
    knee_angle_deg: float | None
    population: Population
    publication: Publication


def comparable(series: SeriesKey, measure: Measure, direction: Direction | None) -> tuple[OutsideReference, ...]:
    """Choose the references of a measure that may stand beside a series.

    Parameters
    ----------
    series : SeriesKey
        Its kind of instrument and its quantity must be those of the reference. The position may differ: it is
        stated with each.
    measure : Measure
    direction : Direction or None
        None where the measure spans them.

    Returns
    -------
    tuple of OutsideReference
    """
    wanted = (measure, direction, series.instrument_kind, series.quantity)
    return tuple(one for one in REFERENCES if (one.measure, one.direction, one.instrument_kind, one.quantity) == wanted)


_FOOTBALL = Population("professionals", "male", "football", 394)
_FIELD_HOCKEY = Population("elite, sub-elite and amateur players", "male", "field hockey", 104)
_ADULT_FOOTBALL = Population("adults, 80 of them with groin pain in the past", "male", "football", 120)
_SKATERS = Population("professionals without a later adductor strain", "male", "ice hockey", 39)
_LATER_STRAINED = Population("professionals with a later adductor strain", "male", "ice hockey", 8)
_RECREATIONAL = Population("experienced recreational players", "male", "ice hockey", 12)

_MOSLER = Publication(
    "Mosler et al. 2017, J Sci Med Sport 20:339-343",
    "One sensor held by a tester; a squeeze between the knees is not the force of a frame.",
    Tag.READ,
)
_MOSLER_BREAK = Publication(
    "Mosler et al. 2017, J Sci Med Sport 20:339-343",
    "Eccentric tests lying on the side give more than isometric holds.",
    Tag.READ,
)
_BEDDOWS = Publication(
    "Beddows et al. 2020, Physical Therapy in Sport 46:169-176",
    "Abstract read; that the instrument was hand-held is from memory.",
    Tag.READ,
)
_BEDDOWS_BREAK = Publication(
    "Beddows et al. 2020, Physical Therapy in Sport 46:169-176",
    "Eccentric tests give more than isometric holds. Abstract read; that the instrument was hand-held is from memory.",
    Tag.READ,
)
_FULCHER = Publication(
    "Normative values of hip strength in adult male football players, J Sci Med Sport, doi 10.1016/j.jsams.2009.05.001",
    "Printed in kg, here times 9.80665 N; abstract read, which does not say where the pad lay.",
    Tag.READ,
)
_TYLER = Publication(
    "Tyler et al. 2001, Am J Sports Med 29(2):124-128",
    "One club; the injured were 8 players with 11 strains. The position is from memory.",
    Tag.READ,
)
_ANGLES = Publication(
    "Hip abduction angle and the adductor to abductor torque ratio, PMC7015023",
    "12 players; the ratio was 1.92 at 10 and 2.30 at 20 degrees of abduction, so it follows the width of the bar.",
    Tag.READ,
)

_HAND = InstrumentKind.HAND_HELD
_N, _NM = Quantity.FORCE, Quantity.TORQUE
_PER_KG, _RATIO = Measure.LEVEL_PER_BODY_MASS, Measure.RATIO
_SQUEEZE, _SPREAD = Direction.SQUEEZE, Direction.SPREAD
_SIDE_LYING = "side-lying"
_SQUEEZE_45 = "supine squeeze, hips 45 degrees"

REFERENCES = (
    OutsideReference(_PER_KG, _SQUEEZE, 3.0, 0.6, _HAND, _NM, _SIDE_LYING, None, _FOOTBALL, _MOSLER_BREAK),
    OutsideReference(_PER_KG, _SPREAD, 2.6, 0.4, _HAND, _NM, _SIDE_LYING, None, _FOOTBALL, _MOSLER_BREAK),
    OutsideReference(_RATIO, None, 1.2, 0.2, _HAND, _NM, _SIDE_LYING, None, _FOOTBALL, _MOSLER_BREAK),
    OutsideReference(_PER_KG, _SQUEEZE, 3.6, 0.8, _HAND, _N, _SQUEEZE_45, None, _FOOTBALL, _MOSLER),
    OutsideReference(_PER_KG, _SQUEEZE, 2.8, 0.4, _HAND, _NM, "not stated", None, _FIELD_HOCKEY, _BEDDOWS_BREAK),
    OutsideReference(_PER_KG, _SPREAD, 2.6, 0.4, _HAND, _NM, "not stated", None, _FIELD_HOCKEY, _BEDDOWS_BREAK),
    OutsideReference(_RATIO, None, 1.1, 0.2, _HAND, _NM, "not stated", None, _FIELD_HOCKEY, _BEDDOWS_BREAK),
    OutsideReference(_PER_KG, _SQUEEZE, 4.5, 0.8, _HAND, _N, "squeeze", None, _FIELD_HOCKEY, _BEDDOWS),
    OutsideReference(
        Measure.LEVEL, _SQUEEZE, 349.1, None, _HAND, _N, "hips 0 degrees", None, _ADULT_FOOTBALL, _FULCHER
    ),
    OutsideReference(
        Measure.LEVEL, _SQUEEZE, 313.8, None, _HAND, _N, "hips 45 degrees", None, _ADULT_FOOTBALL, _FULCHER
    ),
    OutsideReference(
        Measure.LEVEL, _SQUEEZE, 250.1, None, _HAND, _N, "hips 90 degrees", None, _ADULT_FOOTBALL, _FULCHER
    ),
    OutsideReference(_RATIO, None, 0.95, None, _HAND, _N, _SIDE_LYING, None, _SKATERS, _TYLER),
    OutsideReference(_RATIO, None, 0.78, None, _HAND, _N, _SIDE_LYING, None, _LATER_STRAINED, _TYLER),
    OutsideReference(
        _RATIO,
        None,
        1.49,
        0.20,
        InstrumentKind.OTHER,
        _NM,
        "side-lying, abduction 0 degrees",
        None,
        _RECREATIONAL,
        _ANGLES,
    ),
)
