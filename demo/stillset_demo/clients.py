"""How three logging clients of different habits write down the same kind of set, as documents of the API."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone
from types import MappingProxyType
from uuid import NAMESPACE_URL, uuid5

import numpy as np

from stillset_demo.forces import Hold, trace
from stillset_demo.roster import HAND_HELD, Athlete, Habit

__all__ = ["Document", "DoneSet", "client_ref", "write_set"]

Document = dict[str, object]

NEWTONS: Mapping[str, float] = MappingProxyType(
    {"N": 1.0, "kgf": 9.80665, "lbf": 4.4482216152605, "[lbf_av]": 4.4482216152605}
)
PHONE_ZONE = timezone(timedelta(hours=1))
TRACE_RATE_HZ = 50


@dataclass(frozen=True, slots=True)
class DoneSet:
    """A set that was done, with all that any of the clients might note.

    ``bar_height`` and ``knee_angle_deg`` are what would be read off; ``pain`` is the score the athlete would give.
    ``verified`` is False where nobody looked at the set-up; ``traced`` where the frame kept the whole curve.
    """

    athlete: Athlete
    performed_at: datetime
    done: tuple[Hold, ...]
    position: str
    bar_height: float
    knee_angle_deg: float
    checked_on: date
    pain: float
    site: str
    warm_up: bool = False
    hand_held: bool = False
    verified: bool = True
    traced: bool = False


def client_ref(done: DoneSet, seed: int) -> str:
    """Return the client's own id of the set, in the fashion of each client."""
    athlete, at = done.athlete, done.performed_at
    match athlete.habit:
        case Habit.TABLET:
            return str(uuid5(NAMESPACE_URL, f"marram-bay/{seed}/{athlete.ref}/{at.isoformat()}"))
        case Habit.GYM_APP:
            return f"gym-{athlete.ref}-{at:%Y%m%d-%H%M}"
        case Habit.FRAME_LOGGER:
            return f"{athlete.serial}_{at:%Y%m%dT%H%M%S}_{athlete.ref}"


def write_set(done: DoneSet, ref: str, rng: np.random.Generator) -> Document:
    """Write the set as its athlete's client would."""
    head: Document = {"client_ref": ref, "athlete": done.athlete.ref}
    return head | _WRITERS[done.athlete.habit](done, rng)


def _tablet(done: DoneSet, rng: np.random.Generator) -> Document:
    """Write newtons, every rep with peak, mean and time; set-up noted, pain asked each time."""
    position: Document = {"name": done.position, "foot_mark": done.athlete.foot_mark}
    if rng.random() < 0.8:
        position["bar_height"] = done.bar_height
    else:
        position["knee_angle_deg"] = done.knee_angle_deg
    pain: Document = {"score": round(done.pain)}
    if done.pain >= 0.5 and done.site:
        pain["site"] = done.site
    hardest = max(hold.plan.effort for hold in done.done)
    document: Document = {
        "performed_at": done.performed_at.isoformat(),
        "session_ref": f"{done.performed_at:%Y-%m-%d}-evening",
        "position": position,
        "instrument": _instrument(done)
        | {"zeroed": bool(rng.random() > 0.02), "checked_on": done.checked_on.isoformat()},
        "unit": "N",
        "rpe": round(float(np.clip(10 * hardest - rng.integers(0, 2), 0, 10))),
        "reps": [
            _rep(hold, 1.0, 0, with_mean=True) | {"started_s": hold.plan.started_s} | _intended(hold.plan.intended)
            for hold in done.done
        ],
        "pain": pain,
    }
    if rng.random() < 0.1:
        document["body_mass_kg"] = round(float(62 + done.athlete.number * 7 % 23 + rng.normal(0, 0.6)), 1)
    if rng.random() < 0.06:
        document["note"] = str(rng.choice(["after ball session", "short night", "in a hurry", "pads new today"]))
    return document


def _gym_app(done: DoneSet, rng: np.random.Generator) -> Document:
    """Write kgf or lbf: peaks only, the plan on the set, the phone's zone, at times pain yes or no."""
    position: Document = {"name": done.position}
    if done.verified:
        position["knee_angle_deg"] = done.knee_angle_deg
    per_unit = NEWTONS[done.athlete.unit]
    document: Document = {
        "performed_at": done.performed_at.astimezone(PHONE_ZONE).isoformat(),
        "position": position,
        "instrument": _instrument(done),
        "unit": done.athlete.unit,
        "reps": [_rep(hold, per_unit, 1, with_mean=False) for hold in done.done],
    } | _intended(done.done[0].plan.intended)
    if rng.random() < 0.25 or done.pain >= 2.5:
        document["pain"] = {"present": done.pain >= 0.5}
    return document


def _frame_logger(done: DoneSet, rng: np.random.Generator) -> Document:
    """Write what the frame itself knows: forces, means, bar height, warm-up holds too, now and then the whole curve."""
    document: Document = {
        "performed_at": done.performed_at.isoformat(),
        "position": {"name": done.position, "bar_height": done.bar_height},
        "instrument": _instrument(done) | {"checked_on": done.checked_on.isoformat()},
        "unit": "N",
    }
    if done.warm_up:
        document["purpose"] = "warm-up"
    if done.traced:
        return document | _intended(done.done[0].plan.intended) | {"trace": trace(done.done, TRACE_RATE_HZ, rng)}
    reps = [_rep(hold, 1.0, 1, with_mean=True) | _intended(hold.plan.intended) for hold in done.done]
    return document | {"reps": reps}


_WRITERS: Mapping[Habit, Callable[[DoneSet, np.random.Generator], Document]] = MappingProxyType(
    {Habit.TABLET: _tablet, Habit.GYM_APP: _gym_app, Habit.FRAME_LOGGER: _frame_logger}
)


def _instrument(done: DoneSet) -> Document:
    if done.hand_held:
        return {"kind": "hand-held", "serial": HAND_HELD}
    return {"kind": "fixed-frame", "serial": done.athlete.serial}


def _intended(percent: float | None) -> Document:
    return {} if percent is None else {"intended_percent": percent}


def _rep(hold: Hold, per_unit: float, digits: int, *, with_mean: bool) -> Document:
    sides = [
        _force(peak, mean if with_mean else None, per_unit, digits)
        for peak, mean in zip(hold.peak, hold.mean, strict=True)
    ]
    return {"direction": hold.plan.direction, "hold_s": hold.plan.hold_s, "left": sides[0], "right": sides[1]}


def _force(peak: float, mean: float | None, per_unit: float, digits: int) -> dict[str, float]:
    force = {"peak": round(peak / per_unit, digits or None)}
    if mean is not None:
        force["mean"] = min(round(mean / per_unit, digits or None), force["peak"])
    return force
