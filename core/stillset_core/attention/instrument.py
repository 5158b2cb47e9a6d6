"""An instrument that reads differently: the athletes on one serial shift together, the others do not.

For each athlete, the readings of the last four weeks on each serial are held against the athlete's own
level twelve weeks before. A serial is in question if its athletes' shifts differ from those on other
serials by at least 3 % and by 3 standard errors. With too few athletes on other serials there is nobody
to compare with: then 5 % against no change is needed, and the sentence says that the squad itself may
have changed instead.

The difference is the median of all differences between the two groups, and the spread between athletes
comes from the median absolute deviation, so that one athlete's decline neither makes nor hides a finding.

References
----------
Hodges & Lehmann 1963, Ann Math Stat 34:598-611 (from memory): the median of all differences, about as
precise as the difference of means for normal values.
"""

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.judging.outcome import Counted
from stillset_core.numbers import Figure, day
from stillset_core.records import STRENGTHS, Side
from stillset_core.series import Reading
from stillset_core.trend import SeriesTrend

__all__ = ["INSTRUMENT_SHIFT", "instrument_shift", "on_serial"]

INSTRUMENT_SHIFT = "instrument-shift"

LATELY = timedelta(days=28)
BEFORE = timedelta(weeks=12)
"""Slow drifts need a far look back; further back, athletes themselves have changed too much."""
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
Z_95 = 1.959964
SMALLEST_SPREAD = 0.01
"""Athletes differ by at least this SD, so that few equal values are not taken for certainty."""


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
    """Report each serial on which the athletes shifted together, unlike the others."""
    shifts = [shift for watched in squad for shift in _shifts(watched)]
    for serial in sorted({shift.serial for shift in shifts if shift.serial is not None}):
        on = [shift for shift in shifts if shift.serial == serial]
        off = [shift for shift in shifts if shift.serial != serial]
        if len(on) < FEWEST_ATHLETES:
            continue
        compared = _compare(np.array([one.log_shift for one in on]), np.array([one.log_shift for one in off]))
        if compared.stands_out:
            yield _item(serial, on, off, compared)


def on_serial(watched: Watched) -> str | None:
    """Find the serial on which most of the athlete's recent sets were done."""
    serials = [
        one.record.instrument.serial
        for one in watched.state.judged
        if watched.state.as_of - one.record.performed_at <= LATELY
    ]
    return max(sorted(set(filter(None, serials))), key=serials.count, default=None)


def _shifts(watched: Watched) -> Iterator[_Shift]:
    """Shift of one athlete on each serial used lately, against the level twelve weeks before."""
    as_of = watched.state.as_of
    records = {one.record.client_ref: one.record for one in watched.state.judged}
    trends = {trend.key: trend for trend in watched.state.trends}
    lately: defaultdict[str | None, list[Reading]] = defaultdict(list)
    for reading in watched.state.readings:
        if reading.counts and as_of - reading.performed_at <= LATELY:
            lately[records[reading.client_ref].instrument.serial].append(reading)
    for serial, readings in lately.items():
        values = [value for reading in readings for value in _against(trends[reading.series], reading, as_of - BEFORE)]
        if values:
            last = records[readings[-1].client_ref]
            yield _Shift(
                watched.athlete, serial, float(np.median(values)), readings[0].performed_at, last.instrument.checked_on
            )


def _against(trend: SeriesTrend, reading: Reading, then: datetime) -> Iterator[float]:
    """Log value of each measured side of a reading less that side's smoothed log level back then."""
    row = bisect_right(trend.history.at, then) - 1
    if row < 0 or not isinstance(reading.value, Counted):
        return
    for side, value in ((Side.LEFT, reading.value.adjusted_left), (Side.RIGHT, reading.value.adjusted_right)):
        column = STRENGTHS.index((reading.direction, side))
        if value is not None and trend.history.seen[row, column]:
            yield math.log(value) - float(trend.history.mean[row, column])


def _compare(on: NDArray[np.float64], off: NDArray[np.float64]) -> _Comparison:
    if len(off) < FEWEST_OTHERS:
        middle = float(np.median(on))
        spread = max(NORMAL_MAD * float(np.median(np.abs(on - middle))), SMALLEST_SPREAD)
        return _Comparison(middle, MEDIAN_ERROR * spread / math.sqrt(len(on)), alone=True)
    around = np.concatenate((on - np.median(on), off - np.median(off)))
    spread = max(NORMAL_MAD * float(np.median(np.abs(around))), SMALLEST_SPREAD)
    difference = float(np.median(np.subtract.outer(on, off)))
    return _Comparison(difference, spread * math.sqrt(1 / len(on) + 1 / len(off)), alone=False)


def _item(serial: str, on: Sequence[_Shift], off: Sequence[_Shift], compared: _Comparison) -> AttentionItem:
    half = Z_95 * compared.error
    percent, low, high = (100 * math.expm1(compared.difference + end) for end in (0.0, -half, half))
    difference = Figure(percent, low, high, "%", signed=True)
    than = "than before" if compared.alone else f"against {len(off)} on others"
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
            f" {than}, each set beside their own level 12 weeks before{warning}. Check the instrument before"
            f" reading their trends; last checked {'on ' + day(checked) if checked else 'at an unknown date'}."
        ),
        evidence={
            "serial": serial,
            "difference_percent": percent,
            "low": low,
            "high": high,
            "athletes": tuple(sorted(one.athlete for one in on)),
            "athletes_elsewhere": 0 if compared.alone else len(off),
            "checked_on": None if checked is None else checked.isoformat(),
        },
        since=since,
        weight=abs(compared.difference) / compared.error,
    )
