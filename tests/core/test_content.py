"""Same content, exact differences, and merge patches."""

import copy
import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillset_core.content import differing_pointers, merge_patch
from stillset_core.document import SetDocument, parse_set
from stillset_core.errors import DocumentRefused

NOW = datetime(2026, 9, 15, 12, tzinfo=UTC)

A_SET = {
    "client_ref": "s-1",
    "athlete": "MB-07",
    "performed_at": "2026-09-14T17:32:05+02:00",
    "position": {"name": "supine", "knee_angle_deg": 60},
    "instrument": {"kind": "fixed-frame", "zeroed": True, "checked_on": "2026-08-30"},
    "unit": "[lbf_av]",
    "intended_percent": 100,
    "reps": [
        {"direction": "squeeze", "hold_s": 5, "left": {"peak": 70, "mean": 60}},
        {"direction": "spread", "hold_s": 5, "left": {"peak": 70}, "right": {"peak": 71}, "intended_percent": 90},
    ],
    "pain": {"score": 0},
    "note": "",
}


def read(document: dict[str, object]) -> SetDocument:
    return parse_set(json.dumps(document), now=NOW)


def differences(change, document=A_SET) -> set[str]:
    other = copy.deepcopy(document)
    change(other)
    there = set(differing_pointers(read(document), read(other)))
    assert there == set(differing_pointers(read(other), read(document)))
    return there


def setting(*way: str | int, to: object):
    def change(document):
        here = document
        for step in way[:-1]:
            here = here[step]
        here[way[-1]] = to

    return change


def taking(*way: str | int):
    def change(document):
        here = document
        for step in way[:-1]:
            here = here[step]
        del here[way[-1]]

    return change


@pytest.mark.parametrize(
    "change",
    [
        setting("rpe", to=None),
        setting("purpose", to="training"),
        setting("purpose", to=None),
        setting("session_ref", to=None),
        setting("unit", to="lbf"),
        setting("performed_at", to="2026-09-14T15:32:05Z"),
        setting("performed_at", to="2026-09-14t20:32:05.000+05:00"),
        setting("intended_percent", to=100.0),
        setting("reps", 0, "left", "peak", to=7e1),
        setting("reps", 0, "right", to=None),
        setting("reps", 1, "left", "mean", to=None),
        setting("reps", 0, "started_s", to=None),
        setting("pain", "when", to="during"),
        setting("pain", "present", to=None),
        setting("pain", "score", to=-0.0),
        setting("position", "bar_height", to=None),
        setting("instrument", "serial", to=None),
        setting("trace", to=None),
    ],
)
def test_another_way_to_say_the_same_is_no_difference(change):
    assert differences(change) == set()


def test_key_order_is_no_difference():
    backwards = json.loads(json.dumps(A_SET), object_pairs_hook=lambda pairs: dict(reversed(pairs)))
    assert list(backwards) != list(A_SET)
    assert differing_pointers(read(A_SET), read(backwards)) == ()


@pytest.mark.parametrize(
    ("change", "pointers"),
    [
        (setting("client_ref", to="s-2"), {"/client_ref"}),
        (setting("athlete", to="mb-07"), {"/athlete"}),
        (setting("performed_at", to="2026-09-14T17:32:05.000001+02:00"), {"/performed_at"}),
        (setting("purpose", to="test"), {"/purpose"}),
        (setting("session_ref", to="a"), {"/session_ref"}),
        (setting("unit", to="N"), {"/unit"}),
        (setting("intended_percent", to=100.0000001), {"/intended_percent"}),
        (taking("intended_percent"), {"/intended_percent"}),
        (setting("rpe", to=0), {"/rpe"}),
        (taking("note"), {"/note"}),
        (setting("note", to="e\u0301"), {"/note"}),
        (taking("pain"), {"/pain"}),
        (setting("pain", to={"present": False}), {"/pain/score", "/pain/present"}),
        (setting("pain", "when", to="after"), {"/pain/when"}),
        (setting("position", "knee_angle_deg", to=45), {"/position/knee_angle_deg"}),
        (setting("position", "arms", to="x"), {"/position/arms"}),
        (taking("instrument", "zeroed"), {"/instrument/zeroed"}),
        (setting("instrument", "checked_on", to="2026-08-31"), {"/instrument/checked_on"}),
        (setting("reps", 1, "right", "peak", to=72), {"/reps/1/right/peak"}),
        (setting("reps", 0, "right", to={"peak": 70}), {"/reps/0/right"}),
        (taking("reps", 1, "intended_percent"), {"/reps/1/intended_percent"}),
        (setting("reps", 0, "intended_percent", to=100), {"/reps/0/intended_percent"}),
        (taking("reps", 1), {"/reps"}),
    ],
)
def test_a_difference_is_named_exactly(change, pointers):
    assert differences(change) == pointers


def test_several_differences_are_all_named():
    def change(document):
        document["rpe"] = 3
        document["reps"][0]["hold_s"] = 4
        document["position"]["name"] = "other"

    assert differences(change) == {"/rpe", "/reps/0/hold_s", "/position/name"}


def test_an_exchange_of_reps_is_a_difference():
    assert differences(lambda document: document["reps"].reverse())


def test_an_athlete_whom_the_caller_has_looked_up_is_compared_by_that():
    first, second = read(A_SET), read({**A_SET, "athlete": "0199-an-id"})
    assert differing_pointers(first, second) == ("/athlete",)
    assert differing_pointers(first, second, same_athlete=True) == ()
    assert differing_pointers(first, first, same_athlete=False) == ("/athlete",)


def test_the_samples_of_a_trace_are_named_as_a_whole():
    document = {key: value for key, value in A_SET.items() if key != "reps"}
    document["trace"] = {"rate_hz": 20, "left": [0.0] * 20, "right": [1.0] * 20}
    assert differences(setting("trace", "left", 3, to=None), document) == {"/trace/left"}
    assert differences(setting("trace", "rate_hz", to=20.0), document) == set()
    assert differences(setting("trace", "right", 0, to=1), document) == set()
    assert differences(taking("trace", "right"), document) == {"/trace/right"}
    assert set(differing_pointers(read(document), read(A_SET))) == {"/trace", "/reps"}


@pytest.mark.parametrize(
    ("original", "patch", "result"),
    [
        # RFC 7396, appendix A, all fifteen, in its order.
        ({"a": "b"}, {"a": "c"}, {"a": "c"}),
        ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
        ({"a": "b"}, {"a": None}, {}),
        ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
        ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
        ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
        ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
        ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
        (["a", "b"], ["c", "d"], ["c", "d"]),
        ({"a": "b"}, ["c"], ["c"]),
        ({"a": "foo"}, None, None),
        ({"a": "foo"}, "bar", "bar"),
        ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
        ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
        ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
    ],
)
def test_a_merge_patch_does_what_rfc_7396_shows(original, patch, result):
    before = copy.deepcopy((original, patch))
    assert merge_patch(original, patch) == result
    assert (original, patch) == before


_JSON = st.recursive(
    st.none() | st.integers() | st.text(max_size=2),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from("abc"), inner, max_size=3),
    max_leaves=10,
)


@given(_JSON, _JSON)
def test_a_merge_patch_applied_twice_does_no_more_than_once(target, patch):
    once = merge_patch(target, patch)
    assert merge_patch(once, patch) == once


def test_a_patch_nested_too_deeply_is_refused():
    patch: object = {}
    for _ in range(100_000):
        patch = {"a": patch}
    with pytest.raises(DocumentRefused) as refused:
        merge_patch({}, patch)
    assert [fault.code for fault in refused.value.faults] == ["too-deep"]
    while patch:  # taken apart step by step: Python's own clearing of so deep a value is not under test
        patch = patch["a"]
