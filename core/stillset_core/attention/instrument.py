"""An instrument that reads differently: the athletes on one serial shift together, the others do not.

For each athlete, the readings of the last four weeks on each serial are held against the athlete's own
readings of ten to thirty weeks before: far enough back for a slow drift to show, and many enough to be
steady. A serial is in question if its athletes' shifts differ from those on other serials by at least 3 %
and by 3 standard errors. With too few athletes on other serials there is nobody to compare with: then 5 %
against no change is needed, and the sentence says that the squad itself may have changed instead.

Means are trimmed against outliers, the difference is the median of all differences between the two
groups, and the spread between athletes comes from the median absolute deviation: one athlete's decline
neither makes nor hides a finding.

References
----------
Hodges & Lehmann 1963, Ann Math Stat 34:598-611 (from memory): the median of all differences, about as
precise as the difference of means for normal values.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.judging.outcome import Counted
from stillset_core.numbers import Figure, day
from stillset_core.records import STRENGTHS, Side
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend.level import NORMAL_95

__all__ = ["INSTRUMENT_SHIFT", "instrument_shift", "on_serial"]

INSTRUMENT_SHIFT = "instrument-shift"

LATELY = timedelta(days=28)
BEFORE = (timedelta(weeks=10), timedelta(weeks=30))
FEWEST_LATELY = 3
FEWEST_BEFORE = 6
"""Readings of one side behind a shift, in the last weeks and before."""
TRIMMED = 0.1
"""Share left out of a mean at either end."""
FEWEST_ATHLETES = 3
FEWEST_OTHERS = 5
SMALLEST_SHIFT = 0.03
SMALLEST_SHIFT_ALONE = 0.05
"""As log ratios: about 3 and 5 %."""
STANDARD_ERRORS = 3.0
NORMAL_MAD = 1.4826
"""SD of a normal distribution over its median absolute deviation."""
MEDIAN_ERROR = 1.2533
"""Standard error of the median of normal values over that of their mean, √(π ÷ 2)."""
SMALLEST_SPREAD = 0.02
"""Athletes' shifts differ by at least this SD, so that a few that chance to be equal are not taken for certainty."""


@dataclass(frozen=True, slots=True)
class _Value:
    """Adjusted log value of one side of a counting reading; ``column`` is its place among the strengths."""

    client_ref: str
    at: datetime
    series: SeriesKey
    column: int
    log_value: float


@dataclass(frozen=True, slots=True)
class _Shift:
    """Mean log shift of one athlete's recent readings on one serial, and the first of them."""

    athlete: str
    serial: str | None
    log_shift: float
    first: datetime
    checked_on: date | None


@dataclass(frozen=True, slots=True)
class _Comparison:
    """Log shift on a serial against elsewhere, with its standard error; ``alone`` is against no change."""

    difference: float
    error: float
    alone: bool

    @property
    def stands_out(self) -> bool:
        smallest = SMALLEST_SHIFT_ALONE if self.alone else SMALLEST_SHIFT
        return abs(self.difference) >= max(smallest, STANDARD_ERRORS * self.error)


def instrument_shift(squad: Sequence[Watched]) -> Iterator[AttentionItem]:
    """Report each serial on which the athletes shifted together, unlike the others.

    The clearest comes first, and its athletes are left out when the next is looked for: one
    instrument that reads low must not make the others seem to read high. Sets without a serial
    can explain a difference but are no instrument to report.
    """
    shifts = [shift for watched in squad for shift in _shifts(watched)]
    while (clearest := _clearest(shifts)) is not None:
        serial, compared = clearest
        on = [shift for shift in shifts if shift.serial == serial]
        shifts = [shift for shift in shifts if shift.serial != serial]
        if serial is not None:
            yield _item(serial, on, len(shifts), compared)


def on_serial(watched: Watched) -> str | None:
    """Find the serial on which most of the athlete's recent sets were done."""
    serials = [
        one.record.instrument.serial for one in watched.state.judged if watched.age(one.record.performed_at) <= LATELY
    ]
    return max(sorted(set(filter(None, serials))), key=serials.count, default=None)


def _shifts(watched: Watched) -> Iterator[_Shift]:
    """Shift of one athlete on each serial used lately, against the athlete's own readings long before."""
    as_of = watched.state.as_of
    judged_lately = (one.record for one in watched.state.judged if as_of - one.record.performed_at <= LATELY)
    instruments = {record.client_ref: record.instrument for record in judged_lately}
    readings = [one for one in watched.state.readings if as_of - one.performed_at <= BEFORE[1]]
    before: defaultdict[tuple[SeriesKey, int], list[float]] = defaultdict(list)
    lately: defaultdict[str | None, list[_Value]] = defaultdict(list)
    for value in _values(readings):
        age = as_of - value.at
        if age > BEFORE[0]:
            before[value.series, value.column].append(value.log_value)
        elif age <= LATELY:
            lately[instruments[value.client_ref].serial].append(value)
    for serial, values in lately.items():
        shift = _mean_shift(values, before)
        if shift is not None:
            checked_on = instruments[values[-1].client_ref].checked_on
            yield _Shift(watched.athlete, serial, shift, values[0].at, checked_on)


def _values(readings: Iterable[Reading]) -> Iterator[_Value]:
    for reading in readings:
        if isinstance(reading.value, Counted):
            for side, value in ((Side.LEFT, reading.value.adjusted_left), (Side.RIGHT, reading.value.adjusted_right)):
                if value is not None:
                    column = STRENGTHS.index((reading.direction, side))
                    yield _Value(reading.client_ref, reading.performed_at, reading.series, column, math.log(value))


def _mean_shift(values: Sequence[_Value], before: Mapping[tuple[SeriesKey, int], Sequence[float]]) -> float | None:
    """Mean over the sides of recent less earlier log values; None where no side has enough of both."""
    recent: defaultdict[tuple[SeriesKey, int], list[float]] = defaultdict(list)
    for value in values:
        recent[value.series, value.column].append(value.log_value)
    shifts = [
        _trimmed_mean(now) - _trimmed_mean(before[side])
        for side, now in recent.items()
        if len(now) >= FEWEST_LATELY and len(before.get(side, ())) >= FEWEST_BEFORE
    ]
    return math.fsum(shifts) / len(shifts) if shifts else None


def _trimmed_mean(values: Sequence[float]) -> float:
    """Mean without the given share of the values at either end."""
    cut = int(TRIMMED * len(values))
    kept = sorted(values)[cut : len(values) - cut]
    return math.fsum(kept) / len(kept)


def _clearest(shifts: Sequence[_Shift]) -> tuple[str | None, _Comparison] | None:
    """Find the serial that stands out most; of two that mirror each other, the one that moved more."""
    found: list[tuple[float, float, str | None, _Comparison]] = []
    for serial in dict.fromkeys(shift.serial for shift in shifts):
        on = np.array([shift.log_shift for shift in shifts if shift.serial == serial])
        off = np.array([shift.log_shift for shift in shifts if shift.serial != serial])
        if len(on) < FEWEST_ATHLETES:
            continue
        compared = _compare(on, off)
        if compared.stands_out:
            clearness = round(abs(compared.difference) / compared.error, 6)
            found.append((clearness, abs(float(np.median(on))), serial, compared))
    if not found:
        return None
    _, _, serial, compared = max(found, key=lambda one: (*one[:2], one[2] or ""))
    return serial, compared


def _compare(on: NDArray[np.float64], off: NDArray[np.float64]) -> _Comparison:
    if len(off) < FEWEST_OTHERS:
        middle = float(np.median(on))
        spread = max(NORMAL_MAD * float(np.median(np.abs(on - middle))), SMALLEST_SPREAD)
        return _Comparison(middle, MEDIAN_ERROR * spread / math.sqrt(len(on)), alone=True)
    around = np.concatenate((on - np.median(on), off - np.median(off)))
    spread = max(NORMAL_MAD * float(np.median(np.abs(around))), SMALLEST_SPREAD)
    difference = float(np.median(np.subtract.outer(on, off)))
    return _Comparison(difference, spread * math.sqrt(1 / len(on) + 1 / len(off)), alone=False)


def _item(serial: str, on: Sequence[_Shift], others: int, compared: _Comparison) -> AttentionItem:
    half = NORMAL_95 * compared.error
    percent, low, high = (100 * math.expm1(compared.difference + end) for end in (0.0, -half, half))
    difference = Figure(percent, low, high, "%", signed=True)
    than = "than before" if compared.alone else f"against {others} on others"
    warning = "; the squad itself may have changed" if compared.alone else ""
    checked = max((one.checked_on for one in on if one.checked_on is not None), default=None)
    since = min(one.first for one in on).date()
    return AttentionItem(
        rule=INSTRUMENT_SHIFT,
        athlete=None,
        direction=None,
        side=None,
        text=(
            f"Instrument {serial}: readings of {len(on)} athletes since {day(since)} lie {difference.sentence}"
            f" {than}, each set beside their own 10 to 30 weeks before{warning}. Check the instrument before"
            f" reading their trends; last checked {'on ' + day(checked) if checked else 'at an unknown date'}."
        ),
        evidence={
            "serial": serial,
            "difference_percent": percent,
            "low": low,
            "high": high,
            "athletes": tuple(sorted(one.athlete for one in on)),
            "athletes_elsewhere": 0 if compared.alone else others,
            "checked_on": None if checked is None else checked.isoformat(),
        },
        since=since,
        weight=abs(compared.difference) / compared.error,
    )
