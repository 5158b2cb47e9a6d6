"""Small seasons for hypothesis, and every way in which they may come in: order, batches, retries, corrections."""

import copy
import json
from dataclasses import dataclass

from hypothesis import strategies as st

Document = dict[str, object]

ATHLETES = ("A-01", "A-02")
POSITIONS: list[Document] = [
    {
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34, "foot_mark": "C"},
        "instrument_kind": "fixed-frame",
        "valid_from": "2020-01-01",
    },
    {
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 36},
        "instrument_kind": "fixed-frame",
        "valid_from": "2026-09-10",
    },
    {
        "position": {"name": "side-lying", "knee_angle_deg": 0},
        "instrument_kind": "hand-held",
        "valid_from": "2026-09-20",
    },
]

_FORCE = st.floats(180, 420).map(lambda force: round(force, 2))
_TRACE = {"rate_hz": 20, "left": [0.0] * 20 + [310.0] * 90 + [0.0] * 20 + [-280.0] * 80 + [0.0] * 20}


@st.composite
def _sides(draw: st.DrawFn) -> Document:
    def side() -> Document:
        peak = draw(_FORCE)
        return {"peak": peak, "mean": round(0.9 * peak, 2)} if draw(st.booleans()) else {"peak": peak}

    names = draw(st.sampled_from([("left", "right"), ("left", "right"), ("left",), ("right",)]))
    return {name: side() for name in names}


@st.composite
def _reps(draw: st.DrawFn) -> list[Document]:
    reps = []
    for place in range(draw(st.integers(1, 4))):
        rep: Document = {
            "direction": draw(st.sampled_from(["squeeze", "spread"])),
            "hold_s": draw(st.sampled_from([2.5, 3, 5, 5.1, 10, 40])),
        }
        rep |= draw(_sides())
        if draw(st.booleans()):
            rep["started_s"] = place * draw(st.sampled_from([15, 25, 35]))
        if draw(st.booleans()):
            rep["intended_percent"] = draw(st.sampled_from([50, 80, 95, 100]))
        reps.append(rep)
    return reps


@st.composite
def _sets(draw: st.DrawFn, client_ref: str) -> Document:
    day, minute = draw(st.integers(1, 28)), draw(st.sampled_from([0, 0, 5, 59]))
    hour, offset = draw(st.sampled_from([(17, "+02:00"), (15, "Z"), (18, "+02:00"), (20, "+02:00"), (23, "Z")]))
    document: Document = {
        "client_ref": client_ref,
        "athlete": draw(st.sampled_from([*ATHLETES, ATHLETES[0]])),
        "performed_at": f"2026-09-{day:02d}T{hour:02d}:{minute:02d}:00{offset}",
        "position": draw(
            st.sampled_from(
                [
                    {"name": "supine-bent-knee", "knee_angle_deg": 60},
                    {"name": "supine-bent-knee", "knee_angle_deg": 64.5, "bar_height": 36},
                    {"name": "supine-bent-knee", "bar_height": 34},
                    {"name": "side-lying", "knee_angle_deg": 0},
                ]
            )
        ),
        "instrument": {"kind": draw(st.sampled_from(["fixed-frame", "fixed-frame", "hand-held"]))},
        "unit": draw(st.sampled_from(["N", "N", "kgf"])),
    }
    if draw(st.integers(0, 9)) == 0:
        document |= {"trace": copy.deepcopy(_TRACE), "intended_percent": 100}
    else:
        document["reps"] = draw(_reps())
    optional = {
        "intended_percent": st.sampled_from([80, 100, 100]),
        "purpose": st.sampled_from(["training", "warm-up", "test"]),
        "session_ref": st.sampled_from(["morning", "evening"]),
        "pain": st.sampled_from([{"score": 0}, {"score": 3, "site": "left groin"}, {"present": True, "when": "after"}]),
        "note": st.sampled_from(["=1+1", "wet floor"]),
    }
    for name, values in optional.items():
        if draw(st.integers(0, 2)) == 0:
            document[name] = draw(values)
    return document


@dataclass(frozen=True)
class Story:
    """What happens to one set: every content it has in turn, and whether it is withdrawn in the end."""

    contents: tuple[Document, ...]
    withdrawn: bool


@dataclass(frozen=True)
class Season:
    """Stories of sets, and the steps in which they come in.

    Each step is ``("post", stories)``, ``("correct", story)``, ``("position", place)`` or ``("look", athlete)``.
    """

    stories: tuple[Story, ...]
    steps: tuple[tuple[str, object], ...]

    def final(self) -> list[Document]:
        return [story.contents[-1] for story in self.stories if not story.withdrawn]


@st.composite
def _stories(draw: st.DrawFn, place: int) -> Story:
    client_ref = f"set-{place}"
    contents = [draw(_sets(client_ref)) for _ in range(draw(st.sampled_from([1, 1, 1, 2, 3])))]
    # An amendment that changes nothing is refused.
    distinct = [one for number, one in enumerate(contents) if number == 0 or differs(contents[number - 1], one)]
    return Story(tuple(distinct), draw(st.integers(0, 5)) == 0)


def differs(one: Document, other: Document) -> bool:
    return json.dumps(one, sort_keys=True) != json.dumps(other, sort_keys=True)


@st.composite
def seasons(draw: st.DrawFn) -> Season:
    stories = tuple(draw(_stories(place)) for place in range(draw(st.integers(1, 9))))
    order = draw(st.permutations(range(len(stories))))
    steps: list[tuple[str, object]] = []
    while order:
        size = draw(st.integers(1, 4))
        chunk, order = order[:size], order[size:]
        # Twins within a batch, and retries of what came in long ago.
        again = draw(st.lists(st.integers(0, len(stories) - 1), max_size=2))
        steps.append(("post", [*chunk, *again]))
    for place, story in enumerate(stories):
        first = next(at for at, (kind, what) in enumerate(steps) if kind == "post" and place in what)
        for _ in range(len(story.contents) - 1 + story.withdrawn):
            steps.insert(draw(st.integers(first + 1, len(steps))), ("correct", place))
    for place in range(len(POSITIONS)):
        steps.insert(draw(st.integers(0, len(steps))), ("position", place))
    for _ in range(2):
        steps.insert(draw(st.integers(0, len(steps))), ("look", draw(st.sampled_from(ATHLETES))))
    return Season(stories, tuple(steps))


def patch_between(old: Document, new: Document) -> Document:
    """Make the JSON merge patch (RFC 7396) that turns one object into another."""
    patch: Document = {name: None for name in old if name not in new}
    for name, value in new.items():
        before = old.get(name)
        if isinstance(value, dict) and isinstance(before, dict):
            inner = patch_between(before, value)
            if inner:
                patch[name] = inner
        elif name not in old or value != before:
            patch[name] = value
    return patch
