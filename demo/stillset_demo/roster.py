"""Who is in the invented club: 28 athletes, their set-up, the frames they use and the program that logs their sets."""

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["ATHLETES", "CLUB", "HAND_HELD", "KNEE_ANGLE_DEG", "POSITION", "SQUAD", "Athlete", "Habit"]

CLUB = {"slug": "marram-bay", "name": "Marram Bay"}
SQUAD = {"ref": "first-team", "name": "First team"}
POSITION = "supine-bent-knee"
KNEE_ANGLE_DEG = 60
HAND_HELD = "H-01"


class Habit(StrEnum):
    """The logging client an athlete's sets come from."""

    TABLET = "tablet"
    GYM_APP = "gym-app"
    FRAME_LOGGER = "frame-logger"


@dataclass(frozen=True, slots=True)
class Athlete:
    """One athlete of the invented squad.

    ``dominant_side`` is the take-off leg; ``bar_height`` is in the club's own bar scale; ``unit`` is the
    unit the client writes; ``serial`` the frame this athlete always uses.
    """

    ref: str
    name: str
    role: str
    dominant_side: str
    born: int
    habit: Habit
    serial: str
    unit: str
    bar_height: float
    foot_mark: str

    @property
    def number(self) -> int:
        """The number in the ref, from 1."""
        return int(self.ref.removeprefix("MB-"))


_T, _G, _L = Habit.TABLET, Habit.GYM_APP, Habit.FRAME_LOGGER
_ROWS: tuple[tuple[str, str, str, int, Habit, str], ...] = (
    ("Alex Ebbwick", "goalkeeper", "left", 1996, _T, "F-01"),
    ("Robin Saltrey", "wing", "left", 2001, _G, "F-01"),
    ("Jo Kelphurst", "back", "left", 1999, _T, "F-03"),
    ("Kim Tarnfold", "pivot", "right", 1995, _L, "F-02"),
    ("Noa Sandwyke", "wing", "right", 2003, _T, "F-04"),
    ("Remy Foamley", "back", "left", 2000, _L, "F-04"),
    ("Dana Driftham", "back", "left", 1998, _T, "F-01"),
    ("Mika Skerrow", "pivot", "left", 1997, _G, "F-03"),
    ("Sam Lochmarsh", "goalkeeper", "right", 2002, _L, "F-02"),
    ("Ari Quaysden", "wing", "left", 2004, _T, "F-02"),
    ("Lou Brackwell", "back", "right", 1994, _G, "F-01"),
    ("Nico Shinglow", "back", "left", 2001, _T, "F-04"),
    ("Toni Wrackley", "wing", "left", 2000, _L, "F-01"),
    ("Jules Harrowick", "back", "left", 1999, _L, "F-03"),
    ("Frankie Spindle", "wing", "right", 2002, _T, "F-02"),
    ("Kai Groynes", "pivot", "left", 1996, _G, "F-04"),
    ("Eli Cordwain", "goalkeeper", "left", 1993, _T, "F-04"),
    ("Charlie Duneway", "back", "left", 2003, _G, "F-02"),
    ("Max Estermoor", "back", "right", 1998, _L, "F-02"),
    ("Quin Pebblow", "wing", "left", 2001, _T, "F-03"),
    ("Sasha Thriftley", "back", "left", 1997, _L, "F-01"),
    ("Lee Anchorby", "back", "left", 2000, _T, "F-04"),
    ("Uli Strandick", "pivot", "right", 1999, _T, "F-01"),
    ("Bo Mistholm", "wing", "left", 2005, _G, "F-02"),
    ("Devi Cobblewood", "back", "left", 2002, _T, "F-01"),
    ("Pim Ternsay", "back", "right", 2004, _L, "F-03"),
    ("Andie Lowtide", "goalkeeper", "left", 2006, _G, "F-04"),
    ("Finn Saltern", "pivot", "left", 1998, _T, "F-02"),
)


def _athlete(number: int, row: tuple[str, str, str, int, Habit, str]) -> Athlete:
    name, role, dominant_side, born, habit, serial = row
    gym_units = ("kgf", "lbf", "[lbf_av]")
    return Athlete(
        ref=f"MB-{number:02d}",
        name=name,
        role=role,
        dominant_side=dominant_side,
        born=born,
        habit=habit,
        serial=serial,
        unit=gym_units[number % 3] if habit is Habit.GYM_APP else "N",
        bar_height=float(30 + number * 5 % 9),
        foot_mark="ABCD"[number % 4],
    )


ATHLETES: tuple[Athlete, ...] = tuple(_athlete(number, row) for number, row in enumerate(_ROWS, start=1))
