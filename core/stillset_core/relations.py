"""What the members of a set say about one another, and times: all that a single field's limits cannot express."""

import math
from collections.abc import Collection, Iterator
from datetime import UTC, datetime, timedelta
from typing import Final

from stillset_core.errors import Fault
from stillset_core.members import PainMembers, RepMembers, SetMembers, TraceMembers
from stillset_core.rfc3339 import parse_full_date, parse_instant
from stillset_core.units import UNITS

__all__ = ["relation_faults"]

Path = tuple[str | int, ...]

EARLIEST: Final = datetime(1990, 1, 1, tzinfo=UTC)
FURTHEST_AHEAD: Final = timedelta(hours=24)
SHORTEST_TRACE_S: Final = 1
LONGEST_TRACE_S: Final = 600


def relation_faults(members: SetMembers, now: datetime, broken: Collection[Path] = ()) -> Iterator[Fault]:
    """Every fault that shows only between members.

    Parameters
    ----------
    members : SetMembers
        A set whose single fields are within their limits, but for those below ``broken``.
    now : datetime
        Aware.
    broken : collection of path
        Where single fields are at fault, cut to two steps; nothing is asked of these parts.
    """
    troubled = {path[0] for path in broken if path}
    yield from _effort_faults(members)
    if "performed_at" not in troubled:
        yield from _performed_at_faults(members["performed_at"], now)
    if "instrument" not in troubled:
        yield from _checked_on_faults(members["instrument"].get("checked_on"))
    largest = math.inf if "unit" in troubled else _largest(members["unit"])
    reps = () if ("reps",) in broken else members.get("reps") or ()
    for place, rep in enumerate(reps):
        if ("reps", place) not in broken:
            yield from _rep_faults(rep, place, largest)
    if "trace" not in troubled:
        yield from _trace_faults(members.get("trace"), largest)
    if "pain" not in troubled:
        yield from _pain_faults(members.get("pain"))


def _largest(unit: str) -> float:
    """Largest value that is still finite in SI."""
    return 1.7976931348623157e308 / UNITS[unit].to_si


def _performed_at_faults(text: str, now: datetime) -> Iterator[Fault]:
    try:
        performed_at = parse_instant(text)
    except ValueError as error:
        yield Fault("/performed_at", "wrong-format", f"performed_at {error}.")
        return
    if performed_at < EARLIEST:
        yield Fault("/performed_at", "out-of-limits", f"performed_at must not be before 1990; seen: {text}.")
    elif performed_at - now > FURTHEST_AHEAD:
        yield Fault("/performed_at", "out-of-limits", f"performed_at lies more than 24 h ahead; seen: {text}.")


def _checked_on_faults(text: str | None) -> Iterator[Fault]:
    if text is None:
        return
    try:
        parse_full_date(text)
    except ValueError as error:
        yield Fault("/instrument/checked_on", "wrong-format", f"checked_on {error}.")


def _effort_faults(members: SetMembers) -> Iterator[Fault]:
    has_reps, has_trace = members.get("reps") is not None, members.get("trace") is not None
    if has_reps and has_trace:
        yield Fault("/trace", "reps-and-trace", "A set has reps or a trace, not both.")
    elif not has_reps and not has_trace:
        yield Fault("/reps", "missing", "A set needs reps or a trace.")


def _rep_faults(rep: RepMembers, place: int, largest: float) -> Iterator[Fault]:
    left, right = rep.get("left"), rep.get("right")
    if left is None and right is None:
        yield Fault(f"/reps/{place}/left", "missing", "A rep needs left or right, or both.")
    for name, side in (("left", left), ("right", right)):
        if side is None:
            continue
        peak, mean = side["peak"], side.get("mean")
        if peak > largest:
            yield Fault(f"/reps/{place}/{name}/peak", "not-finite", "peak is not finite in SI units.")
        if mean is not None and mean > peak:
            detail = f"mean must not be above peak; seen: {mean:g} above {peak:g}."
            yield Fault(f"/reps/{place}/{name}/mean", "mean-above-peak", detail)


def _pain_faults(pain: PainMembers | None) -> Iterator[Fault]:
    if pain is None:
        return
    has_score, has_present = pain.get("score") is not None, pain.get("present") is not None
    if has_score and has_present:
        yield Fault("/pain/present", "score-and-present", "pain has a score or present, not both.")
    elif not has_score and not has_present:
        yield Fault("/pain/score", "missing", "pain needs a score or present.")


def _trace_faults(trace: TraceMembers | None, largest: float) -> Iterator[Fault]:
    if trace is None:
        return
    both = (("left", trace.get("left")), ("right", trace.get("right")))
    sides = [(name, side) for name, side in both if side is not None]
    if not sides:
        yield Fault("/trace/left", "missing", "A trace needs left or right, or both.")
    if len(sides) == 2 and len(sides[0][1]) != len(sides[1][1]):
        detail = f"left and right must have the same length; seen: {len(sides[0][1])} and {len(sides[1][1])}."
        yield Fault("/trace/right", "unequal-length", detail)
    for name, samples in sides:
        seconds = len(samples) / trace["rate_hz"]
        if seconds < SHORTEST_TRACE_S:
            yield Fault(f"/trace/{name}", "too-short", f"A trace must last at least 1 s; seen: {seconds:g} s.")
        elif seconds > LONGEST_TRACE_S:
            yield Fault(f"/trace/{name}", "too-long", f"A trace must last at most 600 s; seen: {seconds:g} s.")
        too_large = next((i for i, x in enumerate(samples) if x is not None and abs(x) > largest), None)
        if too_large is not None:
            yield Fault(f"/trace/{name}/{too_large}", "not-finite", "The sample is not finite in SI units.")
