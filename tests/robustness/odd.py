"""Odd values for hypothesis: sets that are nearly right, and texts, numbers and times that trip programs up."""

import copy
import json
from collections.abc import Callable

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

BOUNDED = settings(
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large],
)
"""The same examples on every machine, no clock, and no shrinking, which takes minutes through a whole service."""

ODD_TEXTS = st.sampled_from(
    [
        "",
        " ",
        "\u0000",
        "a\u0000b",
        "\ud800",
        "\udfff\ud800",
        "\ufeff",
        "\u202eright to left",
        "e\u0301",
        "\U0001f9b5" * 64,
        "\uffff",
        "\x7f\x1b[31m",
        "' OR 1=1 --",
        "%s %d {0} {name} ${x}",
        "../../etc/passwd",
        "=cmd()",
        "x" * 65,
        "x" * 10_000,
        "NaN",
        "null",
        "1e5",
    ]
) | st.text(max_size=80)
ODD_NUMBERS = (
    st.sampled_from(
        [0, -1, 1e308, 1.7976931348623157e308, -1e308, 5e-324, 1e-300, 2**53 + 1, 2**63, 2**64, 10**100, 10**308, -0.0]
    )
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
)
ODD_TIMES = st.sampled_from(
    [
        "0001-01-01T00:00:00+23:59",
        "0001-01-01T00:00:00-23:59",
        "9999-12-31T23:59:59.999999-23:59",
        "9999-12-31T23:59:59+23:59",
        "0000-01-01T00:00:00Z",
        "10000-01-01T00:00:00Z",
        "1989-12-31T23:59:59Z",
        "1990-01-01T00:00:00+14:00",
        "2026-02-30T00:00:00Z",
        "2026-09-14T24:00:00Z",
        "2026-09-14T17:32:60Z",
        "2026-09-14T17:32:05",
        "2026-09-14T17:32:05+24:00",
        "2026-09-14T17:32:05.0000000000000000001Z",
        "2026-09-14t17:32:05z",
        "2026-W38-1T17:32:05Z",
        "\u0662\u0660\u0662\u0666-09-14T17:32:05Z",
        "20260914T173205Z",
        "1789400000",
        "now",
    ]
)
ANYTHING = st.recursive(
    st.none() | st.booleans() | ODD_NUMBERS | ODD_TEXTS | ODD_TIMES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(ODD_TEXTS, inner, max_size=4),
    max_leaves=12,
)

_FULL_SET: dict[str, object] = {
    "client_ref": "odd-1",
    "athlete": "A-01",
    "performed_at": "2026-09-14T17:32:05+02:00",
    "session_ref": "2026-09-14-evening",
    "purpose": "training",
    "position": {
        "name": "supine-bent-knee",
        "knee_angle_deg": 60,
        "hip_angle_deg": 45,
        "bar_height": 34,
        "foot_mark": "C",
        "arms": "crossed",
    },
    "instrument": {"kind": "fixed-frame", "serial": "A-113", "zeroed": True, "checked_on": "2026-08-30"},
    "unit": "N",
    "intended_percent": 100,
    "rpe": 9,
    "reps": [
        {
            "direction": "squeeze",
            "hold_s": 5.1,
            "left": {"peak": 312, "mean": 287},
            "right": {"peak": 298, "mean": 271},
            "started_s": 0.0,
        },
        {"direction": "spread", "hold_s": 4, "left": {"peak": 265}, "started_s": 29.5, "intended_percent": 100},
    ],
    "pain": {"score": 1, "site": "left groin", "when": "during"},
    "body_mass_kg": 78.4,
    "note": "after ball session",
}
_TRACE = {"rate_hz": 20, "left": [0.0] * 20 + [300.0] * 100 + [0.0] * 20, "right": [0.0] * 140}

Path = tuple[str | int, ...]


def full_set(**changes: object) -> dict[str, object]:
    return copy.deepcopy(_FULL_SET) | changes


def trace_set(**changes: object) -> dict[str, object]:
    made = full_set(trace=copy.deepcopy(_TRACE)) | changes
    del made["reps"]
    return made


def paths(value: object, path: Path = ()) -> list[Path]:
    found = [path] if path else []
    pairs = value.items() if isinstance(value, dict) else enumerate(value[:3]) if isinstance(value, list) else ()
    for step, inner in pairs:
        found += paths(inner, (*path, step))
    return found


def put_at(value: dict[str, object], path: Path, change: Callable[[dict[str, object], str | int], None]) -> None:
    here: object = value
    for step in path[:-1]:
        here = here[step]  # type: ignore[index]  # the path was found in this very value
    change(here, path[-1])  # type: ignore[arg-type]  # as above


def _one_change(base: dict[str, object]) -> st.SearchStrategy[tuple[Path, str, object]]:
    return st.tuples(
        st.sampled_from(paths(base)), st.sampled_from(["put", "drop", "beside"]), ANYTHING | ODD_TIMES | ODD_NUMBERS
    )


def _changed(base: dict[str, object], changes: list[tuple[Path, str, object]]) -> dict[str, object]:
    made = copy.deepcopy(base)
    for path, how, value in changes:
        try:
            here: object = made
            for step in path[:-1]:
                here = here[step]  # type: ignore[index]  # a path that an earlier change cut off is passed over
            if how == "drop":
                del here[path[-1]]  # type: ignore[attr-defined]
            elif how == "beside" and isinstance(here, dict):
                here[str(path[-1]) + "_"] = value
            else:
                here[path[-1]] = value  # type: ignore[index]
        except (KeyError, IndexError, TypeError):
            continue
    return made


def nearly_sets() -> st.SearchStrategy[dict[str, object]]:
    """Sets with one to three members changed into something else, removed, or given an unknown neighbour."""
    return st.sampled_from([full_set(), trace_set()]).flatmap(
        lambda base: st.lists(_one_change(base), min_size=1, max_size=3).map(lambda changes: _changed(base, changes))
    )


def text_of(value: object) -> bytes:
    """JSON text; lone surrogates are escaped, as a careless client would."""
    return json.dumps(value).encode()


BROKEN_TEXTS = st.sampled_from(
    [
        b"",
        b" ",
        b"{",
        b"null",
        b"[]",
        b'"set"',
        b"1",
        b"NaN",
        b'{"client_ref": NaN}',
        b'{"rpe": Infinity}',
        b'{"rpe": -Infinity}',
        b'{"rpe": 1e999}',
        b'{"rpe": 1' + b"0" * 400 + b"}",
        b'{"rpe": 1' + b"0" * 5000 + b"}",
        b'{"rpe": 1, "rpe": 2}',
        b'{"position": {"name": "a", "name": "b"}}',
        b'{"note": "\\ud800"}',
        b'{"note": "\\u0000"}',
        b'{"note": "\xff\xfe"}',
        b'{"note": "\xed\xa0\x80"}',
        b'{"note": "tab\tinside"}',
        b"\xef\xbb\xbf{}",
        b"\xff\xfe{\x00}\x00",
        '{"client_ref": "ü"}'.encode("utf-16"),
        '{"client_ref": "ü"}'.encode("latin-1"),
        b"{'client_ref': 'a'}",
        b'{"a": 1,}',
        b'{"a": 01}',
        b"// comment\n{}",
        b"{}{}",
        b"[" * 100_000,
        b"[" * 900 + b"]" * 900,
        b'{"a":' * 100_000 + b"1" + b"}" * 100_000,
        b'{"a":' * 900 + b"1" + b"}" * 900,
        b'{"position":' + b"[" * 150 + b"]" * 150 + b"}",
        b'{"note": "' + b"x" * 100_000 + b'"}',
    ]
)
