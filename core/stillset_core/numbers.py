"""Numbers fit to be read: with unit, interval, date and count. The only place that rounds.

Values stay in SI and in full precision everywhere else; here they become text. Pascals are read as
kilopascals. A missing value is an en dash, never 0.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType

from stillset_core.records import Direction, Side

__all__ = ["MISSING", "Figure", "day", "interval", "number"]

MISSING = "–"
MINUS = "−"


@dataclass(frozen=True, slots=True)
class _Scale:
    """How one unit is read: symbol, factor from SI, decimals."""

    symbol: str
    factor: float
    decimals: int


_SCALES: Mapping[str, _Scale] = MappingProxyType(
    {
        "N": _Scale("N", 1, 0),
        "N.m": _Scale("N·m", 1, 0),
        "Pa": _Scale("kPa", 1e-3, 1),
        "N.s": _Scale("N·s", 1, 0),
        "s": _Scale("s", 1, 1),
        "%": _Scale("%", 1, 1),
        "ratio": _Scale("", 1, 2),
        "score": _Scale("of 10", 1, 1),
        "scale": _Scale("", 1, 1),
        "deg": _Scale("°", 1, 0),
        "count": _Scale("", 1, 0),
    }
)
"""By unit, as the API spells it. Decimals follow typical errors of 5 to 10 %: more would be noise.

``ratio`` is squeeze ÷ spread, ``score`` a pain score, ``scale`` the club's bar scale.
"""


def number(value: float | None, unit: str, *, signed: bool = False) -> str:
    """Round one value and write it with its unit.

    Parameters
    ----------
    value : float or None
        In the SI unit named by ``unit``, or in %.
    unit : str
        ``N``, ``N.m``, ``Pa``, ``N.s``, ``s``, ``%``, ``ratio``, ``score``, ``scale``, ``deg`` or ``count``.
    signed : bool
        Whether a plus sign is written: for changes.

    Returns
    -------
    str
        Such as ``271 N``, ``+3.2 %``, ``0.95``; an en dash for None.
    """
    if value is None:
        return MISSING
    scale = _SCALES[unit]
    return _with_symbol(_rounded(value, scale, signed=signed), scale)


def interval(low: float | None, high: float | None, unit: str, *, signed: bool = False, bare: bool = False) -> str:
    """Write the ends of a 95 % interval or a band, such as ``255 to 288 N``; an en dash if an end is missing.

    ``bare`` leaves the unit out, for a place right beside a value that has it.
    """
    if low is None or high is None:
        return MISSING
    scale = _SCALES[unit]
    ends = f"{_rounded(low, scale, signed=signed)} to {_rounded(high, scale, signed=signed)}"
    return ends if bare else _with_symbol(ends, scale)


def day(at: date | None) -> str:
    """Write the calendar date of a date or time, in the offset it carries; an en dash for None."""
    if at is None:
        return MISSING
    return (at.date() if isinstance(at, datetime) else at).isoformat()


@dataclass(frozen=True, slots=True)
class Figure:
    """One estimate with all that a reader needs to judge it.

    Attributes
    ----------
    value, low, high : float or None
        The estimate and the ends of its 95 % interval, in ``unit``.
    unit : str
        See `number`.
    readings : int or None
        How many counting readings are behind it.
    last_at : datetime or None
        When the last of them was taken.
    direction, side : Direction or None, Side or None
        What it is about.
    signed : bool
        Whether plus signs are written.
    """

    value: float | None
    low: float | None
    high: float | None
    unit: str
    readings: int | None = None
    last_at: datetime | None = None
    direction: Direction | None = None
    side: Side | None = None
    signed: bool = False

    @property
    def text(self) -> str:
        """The rounded value with its unit."""
        return number(self.value, self.unit, signed=self.signed)

    @property
    def interval(self) -> str:
        """The rounded ends of the interval with their unit."""
        return interval(self.low, self.high, self.unit, signed=self.signed)

    @property
    def basis(self) -> str:
        """How many readings are behind the value and when the last was taken."""
        if self.readings is None:
            return ""
        plural = "reading" if self.readings == 1 else "readings"
        return f"{self.readings} {plural}" + ("" if self.last_at is None else f", last on {day(self.last_at)}")

    @property
    def sentence(self) -> str:
        """Value, interval and basis in one phrase: ``271 N (95 % 255 to 288 N; 34 readings, last on 2026-09-14)``."""
        if self.value is None:
            return MISSING
        parts = [f"95 % {self.interval}" if self.interval != MISSING else "", self.basis]
        inner = "; ".join(part for part in parts if part)
        return f"{self.text} ({inner})" if inner else self.text


def _with_symbol(text: str, scale: _Scale) -> str:
    if not scale.symbol:
        return text
    return text + scale.symbol if scale.symbol == "°" else f"{text} {scale.symbol}"


def _rounded(value: float, scale: _Scale, *, signed: bool) -> str:
    text = f"{abs(value) * scale.factor:.{scale.decimals}f}"
    if scale.symbol == "of 10":
        text = text.removesuffix(".0")
    if not float(text):
        return text
    return (MINUS if value < 0 else "+" if signed else "") + text
