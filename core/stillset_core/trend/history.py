"""The public door: the readings of one series in, everything the engine knows about it out.

A pure function of the set of readings, the protocol and the time: neither the order in which readings
arrive nor how often anybody asks can change a digit.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stillset_core.judging.outcome import Bound, Counted
from stillset_core.protocol import Protocol
from stillset_core.records import Direction, InstrumentKind, Quantity
from stillset_core.series import Reading, SeriesKey
from stillset_core.trend.baseline import clones_for
from stillset_core.trend.calling import monitor
from stillset_core.trend.decline_bank import bank_of
from stillset_core.trend.filtering import filter_readings
from stillset_core.trend.noise import noise_scale_of
from stillset_core.trend.parameters import model_at, parameters_for
from stillset_core.trend.result import FilteredHistory, SeriesTrend, SmoothedHistory
from stillset_core.trend.rows import Rows, days_between, rows_of
from stillset_core.trend.sides import Findings, direction_trend
from stillset_core.trend.smoothing import Moments, smooth
from stillset_core.trend.transition import LEVELS

__all__ = ["trend_of", "warm_up"]


def trend_of(readings: Sequence[Reading], protocol: Protocol, as_of: datetime) -> SeriesTrend:
    """Trend of one series.

    Parameters
    ----------
    readings : sequence of R Reading
        All of one series and none later than `as_of`, in any order; at least one.
    protocol : Protocol
        ``trend``, ``reps_standard``, ``summary``, ``baseline``, ``smallest_change_percent`` and
        ``false_calls_per_season`` are used.
    as_of : datetime
        The time to which the levels are carried.

    Returns
    -------
    SeriesTrend

    Raises
    ------
    ValueError
        Without readings, with readings of several series, or with a reading later than `as_of`.
    """
    ordered = sorted(readings, key=lambda reading: reading.order)
    _check(ordered, as_of)
    parameters = parameters_for(protocol, ordered[0].series.quantity)
    rows = rows_of(ordered, parameters)
    noise_scale = noise_scale_of(rows, parameters)
    model = model_at(parameters, noise_scale)
    clones = clones_for(ordered, protocol.baseline, as_of)
    end_day = days_between(ordered[0].performed_at, as_of)
    run = filter_readings(rows, parameters, model, clones, end_day)
    watch = monitor(ordered, bank_of(rows, parameters, model), as_of, protocol.false_calls_per_season)
    seen = _seen(rows)
    ends = np.append(np.flatnonzero(rows.fresh)[1:] - 1, len(ordered) - 1)
    filtered = Moments(rows.day[ends], run.mean[ends], run.covariance[ends])
    smoothed = smooth(filtered, model)
    at = tuple(reading.performed_at for reading in ordered)
    findings = Findings(
        readings=ordered,
        as_of=as_of,
        end_day=end_day,
        run=run,
        model=model,
        filtered=filtered,
        smoothed=smoothed,
        seen=seen[ends],
        seen_at_baseline=np.stack([seen[after - 1] & (after > 0) for after in np.maximum(clones.after, 0)]),
        standing=watch.standing,
        smallest_change_percent=protocol.smallest_change_percent,
    )
    return SeriesTrend(
        key=ordered[0].series,
        as_of=as_of,
        readings=int(rows.counts.sum()),
        at_least=int((~rows.counts).sum()),
        last_reading_at=max((reading.performed_at for reading in ordered if reading.counts), default=None),
        noise_scale=noise_scale,
        log_likelihood=run.log_likelihood,
        squeeze=direction_trend(findings, Direction.SQUEEZE),
        spread=direction_trend(findings, Direction.SPREAD),
        mean=run.end_mean[:LEVELS].copy(),
        covariance=run.end_covariance[:LEVELS, :LEVELS].copy(),
        history=SmoothedHistory(tuple(at[end] for end in ends), smoothed.mean, smoothed.covariance, seen[ends]),
        filtered=FilteredHistory(at, run.mean, seen),
        calls=watch.calls,
        standing_calls=watch.standing,
    )


def warm_up() -> None:
    """Compile every loop, or load it from disk, by following an invented athlete through a few sets.

    A service calls this in a thread of its own when it starts.
    """
    key = SeriesKey("warm-up", None, InstrumentKind.OTHER, Quantity.FORCE)
    start = datetime(2000, 1, 1, tzinfo=UTC)
    counted = Counted(300.0, 300.0, 300.0, 300.0, maximal_reps=3, reps_left=3, reps_right=3)
    values: tuple[Counted | Bound, ...] = (counted, counted, Bound(200.0, 200.0))
    readings = [
        Reading(f"set-{i}", start + timedelta(days=i), i, Direction.SQUEEZE, value, key)
        for i, value in enumerate(values)
    ]
    trend_of(readings, Protocol(), start + timedelta(weeks=1))


def _check(ordered: Sequence[Reading], as_of: datetime) -> None:
    if not ordered:
        raise ValueError("a trend needs at least one reading")
    if len({reading.series for reading in ordered}) > 1:
        raise ValueError("a trend takes the readings of one series")
    if ordered[-1].performed_at > as_of:
        raise ValueError(f"a reading of {ordered[-1].performed_at} lies after {as_of}")


def _seen(rows: Rows) -> NDArray[np.bool_]:
    """Whether, after each reading, a counting reading of each side exists: (R, 4)."""
    told = np.zeros((rows.day.size, LEVELS), dtype=np.bool_)
    for side in range(2):
        told[np.arange(rows.day.size), rows.first + side] = rows.counts & rows.measured[:, side]
    return np.logical_or.accumulate(told, axis=0)
