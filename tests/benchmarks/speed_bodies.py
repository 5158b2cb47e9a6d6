"""Bodies for the speed benchmark: sets of six holds, about 1 kB of JSON each, from fixed seeds.

Four of five sets are maximal, the others planned at 70 % to 85 %; one in ten states pain. Nothing is wrong with
any of them, and each athlete's come in order of time, as a club's do.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

__all__ = ["STANDARD_POSITION", "Club", "athlete_refs", "seasons_of", "sets_of"]

POSITION = {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34, "foot_mark": "C"}
STANDARD_POSITION = {
    "position": POSITION,
    "instrument_kind": "fixed-frame",
    "measured_by": "goniometer",
    "valid_from": "2020-01-01",
}
DAYS_IN_SEASON = 280


@dataclass(frozen=True, slots=True)
class Club:
    """How many athletes, and how many sets each of them did in how many seasons of 40 weeks."""

    athletes: int
    seasons: int
    sets_per_season: int


def athlete_refs(count: int) -> list[str]:
    """Names of athletes."""
    return [f"SP-{number:03d}" for number in range(1, count + 1)]


def sets_of(refs: Sequence[str], count: int, seed: int) -> list[bytes]:
    """Give ``count`` sets, one athlete after another and then the next day; another seed goes on in time."""
    rng = np.random.default_rng(seed)
    days = -(-count // len(refs))
    first = datetime(2021, 1, 4, 17, tzinfo=UTC) + timedelta(days=days * (seed % 20))
    return [
        _body(rng, refs[place % len(refs)], first + timedelta(days=place // len(refs)), f"{seed}-{place}")
        for place in range(count)
    ]


def seasons_of(club: Club, end: datetime, seed: int) -> Iterator[bytes]:
    """Give all sets of a club whose last season ends at ``end``, in order of time."""
    rng = np.random.default_rng(seed)
    days = club.seasons * DAYS_IN_SEASON
    count = club.seasons * club.sets_per_season
    first = end - timedelta(days=days)
    for place in range(count):
        day = timedelta(days=days * place / count)
        for minute, ref in enumerate(athlete_refs(club.athletes)):
            yield _body(rng, ref, first + day + timedelta(minutes=minute), f"{seed}-{place}-{ref}")


def _body(rng: np.random.Generator, athlete: str, at: datetime, client_ref: str) -> bytes:
    intended = 100 if rng.random() < 0.8 else int(rng.integers(70, 86))
    document = {
        "client_ref": client_ref,
        "athlete": athlete,
        "performed_at": at.isoformat(timespec="seconds"),
        "purpose": "training",
        "position": POSITION,
        "instrument": {"kind": "fixed-frame", "serial": "A-113", "zeroed": True},
        "unit": "N",
        "intended_percent": intended,
        "rpe": 9,
        "reps": [_rep(rng, hold, intended) for hold in range(6)],
        "body_mass_kg": 78.4,
    }
    if rng.random() < 0.1:
        document["pain"] = {"score": int(rng.integers(1, 4)), "site": "left groin"}
    return json.dumps(document, separators=(",", ":")).encode()


def _rep(rng: np.random.Generator, hold: int, intended: int) -> dict[str, object]:
    squeeze = hold % 2 == 0
    left, right = (310 if squeeze else 270) * intended / 100 * np.exp(rng.normal(0, 0.05, 2))
    return {
        "direction": "squeeze" if squeeze else "spread",
        "hold_s": round(float(rng.uniform(4.5, 5.5)), 1),
        "left": {"peak": round(float(left), 1), "mean": round(float(left) * 0.92, 1)},
        "right": {"peak": round(float(right), 1), "mean": round(float(right) * 0.92, 1)},
        "started_s": hold * 20.0,
    }
