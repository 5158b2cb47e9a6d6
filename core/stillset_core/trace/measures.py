"""Measures of each rep and side of a trace, beside the readings: nothing here decides whether a set counts.

``peak``, ``mean`` and the hold are those of the reps that are judged, from the samples themselves. The others:

==========================  ==========================================================================================
filtered_peak               Peak below 20 Hz (zero-lag Butterworth), which hum and twitches hardly reach.
best_1_s_mean               Highest mean over 1 s of the samples.
onset_s                     Start of the rep by the rule of ``onset.py``, from the start of the trace.
time_to_peak_s              From the onset to the filtered peak; on an even plateau that is wherever it is highest.
impulse_n_s                 Area of the whole rep from onset to release, rise and fall included; where no rest lies
                            beside the rep, from or to where it passes its threshold.
rfd_0_100_ms_n_per_s        Mean slope of the samples over the first 100 ms from the onset; over 200 ms likewise.
steadiness_cv_percent       Standard deviation of the filtered force ÷ its mean over the middle half of the plateau
                            (from first to last above 80 % of the filtered peak), slow sag included; less is steadier.
==========================  ==========================================================================================

What cannot be given honestly is None:

- below 50 Hz: filtered_peak, time_to_peak_s, steadiness (common practice: 50 to 100 Hz for a peak);
- below 1000 Hz: rates of force development. An onset that is one sample late changes them by about the period of a
  sample ÷ 100 ms: 1 % at 1000 Hz, 10 % at 100 Hz, more than such a rate differs from day to day (at least 1000 Hz:
  Maffiuletti et al. 2016, Eur J Appl Physiol 116:1091-1116, from memory). Nor without rest at zero before the rep, on
  a noisy base, or after a counter-movement;
- in a rep of less than 1 s: best_1_s_mean; with less than 1 s in the middle of its plateau: steadiness;
- in a rep with clipping or a gap: all but peak, mean and hold_s;
- of torque and pressure: impulse and rates of force development, whose names speak of newtons.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillset_core.records import Direction, Quantity, Rep, Side, SideForce
from stillset_core.trace.channels import SIGNS, Channel, SampledForce, channels_of
from stillset_core.trace.efforts import Efforts, efforts_of
from stillset_core.trace.filtering import low_pass
from stillset_core.trace.findings import Finding, findings_of, has_quiet_start
from stillset_core.trace.reps import HOLD_SHARE, found_reps
from stillset_core.trace.runs import Flags, Floats, Runs
from stillset_core.trace.segments import NOWHERE, segments_of

__all__ = ["RepMeasures", "SideMeasures", "TraceMeasures", "measures_in_trace"]

CUTOFF_HZ: Final = 20.0
LOWEST_PEAK_RATE_HZ: Final = 50.0
LOWEST_RFD_RATE_HZ: Final = 1000.0


@dataclass(frozen=True, slots=True)
class SideMeasures:
    """Measures of one side in one rep, forces in the SI unit of the set. See the top of this file for each."""

    peak: float
    mean: float | None
    hold_s: float
    filtered_peak: float | None
    best_1_s_mean: float | None
    onset_s: float | None
    time_to_peak_s: float | None
    impulse_n_s: float | None
    rfd_0_100_ms_n_per_s: float | None
    rfd_0_200_ms_n_per_s: float | None
    steadiness_cv_percent: float | None


@dataclass(frozen=True, slots=True)
class RepMeasures:
    """One rep: direction, start and hold as it is judged; a side that took no part is None."""

    direction: Direction
    started_s: float
    hold_s: float
    left: SideMeasures | None
    right: SideMeasures | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class TraceMeasures:
    """All reps of a trace in order of their start; ``cutoff_hz`` is None where the rate is too low for the filter."""

    rate_hz: float
    unit: Quantity
    cutoff_hz: float | None
    reps: tuple[RepMeasures, ...]


@dataclass(frozen=True, slots=True)
class _SideFound:
    measures: SideMeasures
    findings: tuple[Finding, ...]


def measures_in_trace(trace: SampledForce) -> TraceMeasures:
    """Measure every rep of a trace.

    Parameters
    ----------
    trace : SampledForce
        In SI, squeeze positive, NaN for a lost sample.

    Returns
    -------
    TraceMeasures
        Of the reps that ``reps_in_trace`` finds, in the same order.
    """
    channels = channels_of(trace)
    found = found_reps(channels, trace.rate_hz)
    left, right = (
        _side(channel, side, found, trace) if channel is not None else {}
        for side, channel in zip(Side, channels, strict=True)
    )
    reps = tuple([_rep(rep, left.get(place), right.get(place)) for place, (_, rep) in enumerate(found)])
    return TraceMeasures(trace.rate_hz, trace.quantity, _cutoff_hz(trace.rate_hz), reps)


def _rep(rep: Rep, left: _SideFound | None, right: _SideFound | None) -> RepMeasures:
    findings = tuple([finding for side in (left, right) if side is not None for finding in side.findings])
    return RepMeasures(
        rep.direction,
        rep.started_s or 0.0,
        rep.hold_s,
        None if left is None else left.measures,
        None if right is None else right.measures,
        findings,
    )


def _side(
    channel: Channel, side: Side, found: Sequence[tuple[slice, Rep]], trace: SampledForce
) -> dict[int, _SideFound]:
    """Measure one side in all reps that it took part in, by their place."""
    cutoff_hz = _cutoff_hz(trace.rate_hz)
    filtered = None if cutoff_hz is None else low_pass(channel.force, trace.rate_hz, cutoff_hz)
    measured: dict[int, _SideFound] = {}
    for direction in Direction:
        places = np.array([place for place, (_, rep) in enumerate(found) if rep.direction is direction], dtype=np.intp)
        spans = np.array([(found[place][0].start, found[place][0].stop) for place in places], dtype=np.intp)
        efforts = efforts_of(channel, direction, spans.reshape(-1, 2), trace.rate_hz, trace.quantity)
        columns = _columns(efforts, None if filtered is None else SIGNS[direction] * filtered)
        findings = findings_of(efforts, side)
        for row, place in enumerate(places[efforts.rep]):
            rep = found[place][1]
            judged = rep.left if side is Side.LEFT else rep.right
            if judged is not None:  # pragma: no branch (a side with an effort took part)
                measured[int(place)] = _SideFound(_measures(judged, columns, row), findings[row])
    return measured


def _measures(judged: SideForce, columns: Mapping[str, Floats], row: int) -> SideMeasures:
    values = {name: float(column[row]) for name, column in columns.items()}
    given = {name: value if np.isfinite(value) else None for name, value in values.items() if name != "hold_s"}
    return SideMeasures(judged.peak, judged.mean, values["hold_s"], **given)


def _columns(efforts: Efforts, filtered: Floats | None) -> dict[str, Floats]:
    """Give every measure for all K reps, NaN for None."""
    sound = ~(efforts.has_gap | efforts.is_clipped)
    onset_s = np.where(efforts.starts.at == NOWHERE, np.nan, efforts.starts.at / efforts.signal.rate_hz)
    columns = {
        "best_1_s_mean": _best_mean(efforts, 1.0),
        "onset_s": onset_s,
        "impulse_n_s": _impulse(efforts),
        "rfd_0_100_ms_n_per_s": _rise(efforts, 0.1),
        "rfd_0_200_ms_n_per_s": _rise(efforts, 0.2),
        **_filtered_columns(efforts, filtered, onset_s),
    }
    return {name: np.where(sound, column, np.nan) for name, column in columns.items()} | {"hold_s": _hold_s(efforts)}


def _hold_s(efforts: Efforts) -> Floats:
    """Time above 80 % of the side's own peak, as the reps have it of their longer side."""
    within = segments_of(efforts.spans)
    force = efforts.signal.force[within.places]
    return within.count(force > HOLD_SHARE * within.spread(within.highest(force))) / efforts.signal.rate_hz


def _best_mean(efforts: Efforts, seconds: float) -> Floats:
    length = round(seconds * efforts.signal.rate_hz)
    fits = efforts.stretches[:, 1] - efforts.stretches[:, 0] >= length
    best = np.full(len(fits), np.nan)
    if fits.any():
        begins = segments_of((efforts.stretches + np.array((0, 1 - length)))[fits])
        total = np.concatenate(([0.0], np.cumsum(efforts.signal.force)))
        best[fits] = begins.highest((total[begins.places + length] - total[begins.places]) / length)
    return best


def _impulse(efforts: Efforts) -> Floats:
    """Area by the trapezoid rule."""
    if efforts.quantity is not Quantity.FORCE:
        return np.full(len(efforts.rep), np.nan)
    force, whole = efforts.signal.force, segments_of(efforts.whole)
    ends = (force[efforts.whole[:, 0]] + force[efforts.whole[:, 1] - 1]) / 2
    return (whole.mean(force[whole.places]) * whole.lengths - ends) / efforts.signal.rate_hz


def _rise(efforts: Efforts, seconds: float) -> Floats:
    """Mean slope over so long from the onset, from the level of the base."""
    signal, onset = efforts.signal, efforts.starts.at
    until = onset + seconds * signal.rate_hz
    stop = np.minimum(efforts.stretches[:, 1], efforts.whole[:, 1])
    given = has_quiet_start(efforts) & (until < stop)
    if signal.rate_hz < LOWEST_RFD_RATE_HZ or efforts.quantity is not Quantity.FORCE:
        given = np.zeros_like(given)
    reached = np.interp(until, np.arange(signal.force.size), signal.force)
    return np.where(given, (reached - efforts.starts.base) / seconds, np.nan)


def _filtered_columns(efforts: Efforts, filtered: Floats | None, onset_s: Floats) -> dict[str, Floats]:
    if filtered is None:
        nowhere = np.full(len(efforts.rep), np.nan)
        return dict.fromkeys(("filtered_peak", "time_to_peak_s", "steadiness_cv_percent"), nowhere)
    within = segments_of(efforts.stretches)
    force = filtered[within.places]
    peak = within.highest(force)
    high = force > HOLD_SHARE * within.spread(peak)
    plateau = np.column_stack((within.first(high), within.last(high) + 1))
    peak_s = within.first(force == within.spread(peak)) / efforts.signal.rate_hz
    return {
        "filtered_peak": peak,
        "time_to_peak_s": np.where(peak_s > onset_s, peak_s - onset_s, np.nan),
        "steadiness_cv_percent": _steadiness(filtered, plateau, efforts.signal.rate_hz),
    }


def _steadiness(filtered: Floats, plateau: Runs, rate_hz: float) -> Floats:
    quarter = (plateau[:, 1] - plateau[:, 0]) // 4
    middle = plateau + np.column_stack((quarter, -quarter))
    fits: Flags = middle[:, 1] - middle[:, 0] >= rate_hz
    found = np.full(len(fits), np.nan)
    if fits.any():
        within = segments_of(middle[fits])
        force = filtered[within.places]
        found[fits] = 100 * within.deviation(force) / within.mean(force)
    return found


def _cutoff_hz(rate_hz: float) -> float | None:
    return CUTOFF_HZ if rate_hz >= LOWEST_PEAK_RATE_HZ else None
