"""Sets at, just inside and just outside each limit of the API contract, and whatever else may be posted."""

import contextlib
import copy
import json
import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from stillset_core.document import parse_set, parse_set_value
from stillset_core.errors import DocumentRefused
from stillset_core.records import Direction, InstrumentKind, PainWhen, Purpose
from stillset_core.units import UNITS

NOW = datetime(2026, 9, 15, 12, tzinfo=UTC)
ABSENT = object()

A_SET = {
    "client_ref": "0b6f3f9e-5a7c-4f63-9a07-3c1d0a7a9a11",
    "athlete": "MB-07",
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
        {
            "direction": "spread",
            "hold_s": 2.1,
            "left": {"peak": 265.0, "mean": 240},
            "right": {"peak": 270, "mean": 247},
            "started_s": 9.5,
            "intended_percent": 100,
        },
    ],
    "pain": {"score": 1, "site": "left groin", "when": "after"},
    "body_mass_kg": 78.4,
    "note": "after ball session",
}
TRACE = {"rate_hz": 20, "left": [0.0] * 20, "right": [None, *[0] * 19]}


def changed(pointer: str, value: object, document: dict[str, object] = A_SET) -> dict[str, object]:
    """The document with one member replaced, or taken away by ABSENT."""
    result = copy.deepcopy(document)
    *way, last = (int(step) if step.isdigit() else step for step in pointer[1:].split("/"))
    here = result
    for step in way:
        here = here[step]
    if value is ABSENT:
        del here[last]
    else:
        here[last] = value
    return result


def traced(**trace: object) -> dict[str, object]:
    return changed("/reps", ABSENT, {**A_SET, "trace": trace})


def faults(document: object) -> list[tuple[str, str]]:
    """Pointers and codes of the faults, which must be the same for text, for text in other words and for a value."""
    found = []
    for read in (
        lambda: parse_set(json.dumps(document).encode(), now=NOW),
        lambda: parse_set(json.dumps(document, indent=1, ensure_ascii=False), now=NOW),
        lambda: parse_set_value(copy.deepcopy(document), now=NOW),
    ):
        try:
            read()
        except DocumentRefused as refused:
            found.append([(fault.pointer, fault.code) for fault in refused.faults])
        else:
            found.append([])
    assert found[0] == found[1] == found[2]
    return found[0]


def test_the_example_is_taken():
    assert faults(A_SET) == []


LIMITS = [
    # pointer, smallest taken, largest taken, below, above
    ("/position/knee_angle_deg", 0, 150, -1e-9, 150.000001),
    ("/position/hip_angle_deg", 0, 150, -1e-9, 150.000001),
    ("/position/bar_height", -1000, 1000, -1000.000001, 1000.000001),
    ("/intended_percent", 0, 120, -1e-9, 120.000001),
    ("/reps/1/intended_percent", 0, 120, -1e-9, 120.000001),
    ("/rpe", 0, 10, -1e-9, 10.000001),
    ("/reps/0/hold_s", 5e-324, 600, 0, 600.000001),
    ("/reps/0/started_s", 0, 86400, -1e-9, 86400.00001),
    ("/reps/0/left/mean", 0, 312, -1e-9, 312.000001),
    ("/reps/1/right/peak", 247, 1.7976931348623157e308, 0, math.inf),
    ("/pain/score", 0, 10, -1e-9, 10.000001),
    ("/body_mass_kg", 20, 300, 19.999999, 300.000001),
]


@pytest.mark.parametrize(("pointer", "smallest", "largest", "below", "above"), LIMITS)
def test_a_number_is_taken_up_to_its_limits(pointer, smallest, largest, below, above):
    assert faults(changed(pointer, smallest)) == []
    assert faults(changed(pointer, largest)) == []
    assert pointer in dict(faults(changed(pointer, below)))
    if math.isfinite(above):
        assert pointer in dict(faults(changed(pointer, above)))


@pytest.mark.parametrize("pointer", [row[0] for row in LIMITS])
@pytest.mark.parametrize("value", ["60", True, [60], {"value": 60}])
def test_a_number_is_a_json_number(pointer, value):
    assert faults(changed(pointer, value)) == [(pointer, "wrong-type")]


TEXTS = [
    ("/client_ref", 64),
    ("/athlete", 64),
    ("/session_ref", 64),
    ("/instrument/serial", 40),
    ("/position/foot_mark", 40),
    ("/position/arms", 40),
    ("/pain/site", 80),
]


@pytest.mark.parametrize(("pointer", "longest"), TEXTS)
@pytest.mark.parametrize("character", ["a", "é", "\U0001f600", "'", " "])
def test_a_text_is_measured_in_code_points(pointer, longest, character):
    assert faults(changed(pointer, character)) == []
    assert faults(changed(pointer, character * longest)) == []
    assert faults(changed(pointer, character * (longest + 1))) == [(pointer, "too-long")]
    assert faults(changed(pointer, "")) == [(pointer, "too-short")]


def test_a_note_may_be_empty_and_2000_characters_long():
    assert faults(changed("/note", "")) == []
    assert faults(changed("/note", "é" * 2000)) == []
    assert faults(changed("/note", "é" * 2001)) == [("/note", "too-long")]


@pytest.mark.parametrize("pointer", [*(row[0] for row in TEXTS), "/note", "/performed_at", "/instrument/checked_on"])
@pytest.mark.parametrize("value", [1, False, ["a"], {}])
def test_a_text_is_a_json_string(pointer, value):
    assert faults(changed(pointer, value)) == [(pointer, "wrong-type")]


@pytest.mark.parametrize("name", ["a", "supine-45", "-", "0" * 40])
def test_a_slug_is_taken_as_position_name(name):
    assert faults(changed("/position/name", name)) == []


@pytest.mark.parametrize("name", ["", "Supine", "a b", "a_b", "é", "a\n", "0" * 41])
def test_another_position_name_is_refused(name):
    assert faults(changed("/position/name", name)) == [("/position/name", "wrong-format")]


@pytest.mark.parametrize(
    ("pointer", "words"),
    [
        ("/purpose", set(Purpose)),
        ("/instrument/kind", set(InstrumentKind)),
        ("/pain/when", set(PainWhen)),
        ("/reps/0/direction", set(Direction)),
        ("/unit", set(UNITS)),
    ],
)
def test_a_closed_word_is_taken_and_another_is_refused(pointer, words):
    for word in words:
        assert faults(changed(pointer, str(word))) == []
        assert faults(changed(pointer, f"{word} ")) == [(pointer, "not-one-of")]
    assert faults(changed(pointer, 1)) == [(pointer, "not-one-of")]
    assert faults(changed(pointer, "n" if pointer == "/unit" else "Squeeze")) == [(pointer, "not-one-of")]


@pytest.mark.parametrize("pointer", ["/instrument/zeroed", "/pain/present"])
def test_a_boolean_is_a_json_boolean(pointer):
    document = changed("/pain", {"present": True})
    assert faults(changed(pointer, False, document)) == []
    for value in (0, 1, "true", []):
        assert faults(changed(pointer, value, document)) == [(pointer, "wrong-type")]


REQUIRED = [
    "/client_ref",
    "/athlete",
    "/performed_at",
    "/position",
    "/position/name",
    "/instrument",
    "/instrument/kind",
    "/unit",
    "/reps",
    "/reps/1/direction",
    "/reps/0/hold_s",
    "/reps/1/left/peak",
]
OPTIONAL = [
    "/session_ref",
    "/purpose",
    "/position/knee_angle_deg",
    "/position/hip_angle_deg",
    "/position/bar_height",
    "/position/foot_mark",
    "/position/arms",
    "/instrument/serial",
    "/instrument/zeroed",
    "/instrument/checked_on",
    "/intended_percent",
    "/rpe",
    "/reps/0/left",
    "/reps/0/right",
    "/reps/0/left/mean",
    "/reps/0/started_s",
    "/reps/1/intended_percent",
    "/pain",
    "/pain/site",
    "/pain/when",
    "/body_mass_kg",
    "/note",
]


@pytest.mark.parametrize("pointer", REQUIRED)
def test_a_required_member_is_missed_where_it_would_be(pointer):
    assert faults(changed(pointer, ABSENT)) == [(pointer, "missing")]
    assert pointer in dict(faults(changed(pointer, None)))


@pytest.mark.parametrize("pointer", OPTIONAL)
def test_an_optional_member_may_be_absent_or_null(pointer):
    assert faults(changed(pointer, ABSENT)) == []
    assert faults(changed(pointer, None)) == []


@pytest.mark.parametrize(
    "pointer", ["/rpee", "/position/knee_angle", "/instrument/make", "/reps/0/peak", "/reps/1/left/min", "/pain/where"]
)
def test_an_unknown_member_is_refused_by_name(pointer):
    assert faults(changed(pointer, 1)) == [(pointer, "unknown-field")]


def test_an_unknown_member_of_a_trace_is_refused_by_name():
    assert faults(traced(**TRACE, unit="N")) == [("/trace/unit", "unknown-field")]


@pytest.mark.parametrize(("key", "pointer"), [("a/b", "/a~1b"), ("~1", "/~01"), ("", "/"), ("é\n", "/é\n")])
def test_pointers_are_escaped(key, pointer):
    assert faults({**A_SET, key: 1}) == [(pointer, "unknown-field")]


@pytest.mark.parametrize("value", [[], None, "a", 1, True, [A_SET]])
def test_a_set_is_an_object(value):
    assert faults(value) == [("", "not-an-object")]


@pytest.mark.parametrize("pointer", ["/position", "/instrument", "/reps/0", "/reps/0/left", "/pain"])
@pytest.mark.parametrize("value", ["a", 1, [], True])
def test_an_object_is_a_json_object(pointer, value):
    assert faults(changed(pointer, value)) == [(pointer, "wrong-type")]


def test_a_set_holds_1_to_60_reps():
    rep = A_SET["reps"][0]
    assert faults(changed("/reps", [rep] * 60)) == []
    assert faults(changed("/reps", [rep] * 61)) == [("/reps", "too-long")]
    assert faults(changed("/reps", [])) == [("/reps", "too-short")]
    assert faults(changed("/reps", {})) == [("/reps", "wrong-type")]


def test_a_rep_needs_a_side():
    for value in (ABSENT, None):
        bare = changed("/reps/1/right", value, changed("/reps/1/left", value))
        assert faults(bare) == [("/reps/1/left", "missing")]


def test_the_mean_is_at_most_the_peak():
    assert faults(changed("/reps/1/left", {"peak": 200, "mean": 200})) == []
    assert faults(changed("/reps/1/left", {"peak": 200, "mean": 200.5})) == [("/reps/1/left/mean", "mean-above-peak")]


def test_a_set_has_reps_or_a_trace():
    assert faults({**A_SET, "trace": TRACE}) == [("/trace", "reps-and-trace")]
    assert faults({**A_SET, "trace": None}) == []
    assert faults({**changed("/reps", None), "trace": TRACE}) == []
    assert faults({**changed("/reps", None), "trace": None}) == [("/reps", "missing")]


def test_pain_is_a_score_or_a_presence():
    assert faults(changed("/pain", {"score": 0, "present": None})) == []
    assert faults(changed("/pain", {"present": False})) == []
    assert faults(changed("/pain", {"score": 1, "present": True})) == [("/pain/present", "score-and-present")]
    assert faults(changed("/pain", {"site": "left groin"})) == [("/pain/score", "missing")]
    assert faults(changed("/pain", {})) == [("/pain/score", "missing")]


@pytest.mark.parametrize(
    ("ahead", "code"),
    [(timedelta(hours=24), None), (timedelta(hours=24, microseconds=1), "out-of-limits"), (timedelta(0), None)],
)
@pytest.mark.parametrize("offset", ["+00:00", "-12:00", "+14:00"])
def test_a_set_may_start_up_to_24_h_ahead(ahead, code, offset):
    sign = -1 if offset[0] == "-" else 1
    local = NOW + ahead + sign * timedelta(hours=int(offset[1:3]))
    text = local.replace(tzinfo=None).isoformat() + offset
    assert faults(changed("/performed_at", text)) == ([] if code is None else [("/performed_at", code)])


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("1990-01-01T00:00:00Z", True),
        ("1990-01-01T01:00:00+01:00", True),
        ("1989-12-31T23:59:59.999999Z", False),
        ("1990-01-01T00:59:59+01:00", False),
        ("0001-01-01T00:00:00+23:59", False),
        ("0001-01-01T00:00:00-23:59", False),
        ("9999-12-31T23:59:59.999999-23:59", False),
        ("9999-12-31T23:59:59+23:59", False),
    ],
)
def test_a_set_starts_in_1990_or_later(text, taken):
    assert faults(changed("/performed_at", text)) == ([] if taken else [("/performed_at", "out-of-limits")])


@pytest.mark.parametrize("text", ["2026-09-14T17:32:05", "2026-09-14 17:32:05Z", "1700000000", "2026-09-14", ""])
def test_a_time_in_another_spelling_is_refused(text):
    assert faults(changed("/performed_at", text)) == [("/performed_at", "wrong-format")]


@pytest.mark.parametrize("text", ["2026-02-30", "2026-8-30", "2026-08-30T00:00:00Z", ""])
def test_a_date_in_another_spelling_is_refused(text):
    assert faults(changed("/instrument/checked_on", text)) == [("/instrument/checked_on", "wrong-format")]


@pytest.mark.parametrize("unit", ["kN", "kgf", "[lbf_av]", "lbf", "mm[Hg]", "mmHg", "kPa"])
def test_a_value_must_be_finite_in_si(unit):
    largest = 1.7976931348623157e308
    document = changed("/unit", unit)
    assert faults(changed("/reps/0/left/peak", largest, document)) == [("/reps/0/left/peak", "not-finite")]
    just = math.nextafter(largest / UNITS[unit].to_si, 0)
    assert math.isfinite(just * UNITS[unit].to_si)
    assert faults(changed("/reps/0/left/peak", just, document)) == []
    samples = [0.0] * 19 + [-largest]
    assert faults(changed("/unit", unit, traced(rate_hz=20, right=samples))) == [("/trace/right/19", "not-finite")]


@pytest.mark.parametrize(
    ("rate_hz", "code"), [(19.999, "out-of-limits"), (20, None), (5000, None), (5000.001, "out-of-limits")]
)
def test_a_trace_is_sampled_at_20_to_5000_hz(rate_hz, code):
    document = traced(rate_hz=rate_hz, left=[0.0] * 5001)
    expected = [] if code is None else [("/trace/rate_hz", code)]
    found = faults(document) if rate_hz > 20 else faults(traced(rate_hz=rate_hz, left=[0.0] * 20))
    assert found == expected


@pytest.mark.parametrize(
    ("rate_hz", "samples", "code"),
    [
        (20, 19, "too-short"),
        (20, 20, None),
        (20.5, 20, "too-short"),
        (20, 12_000, None),
        (20, 12_001, "too-long"),
        (500, 300_000, None),
        (501, 300_001, "too-long"),
        (20, 0, "too-short"),
    ],
)
def test_a_trace_lasts_1_to_600_s_and_holds_300_000_samples(rate_hz, samples, code):
    body = json.dumps(traced(rate_hz=rate_hz, left=[1.5] * samples))
    if code is None:
        assert len(parse_set(body, now=NOW).members["trace"]["left"]) == samples
        return
    with pytest.raises(DocumentRefused) as refused:
        parse_set(body, now=NOW)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("/trace/left", code)]


def test_the_sides_of_a_trace_have_the_same_length():
    assert faults(traced(rate_hz=20, left=[0] * 20, right=[0] * 20)) == []
    assert faults(traced(rate_hz=20, left=[0] * 20, right=[0] * 21)) == [("/trace/right", "unequal-length")]


def test_a_trace_needs_a_side():
    assert faults(traced(rate_hz=20, right=[0] * 20, left=None)) == []
    assert faults(traced(rate_hz=20)) == [("/trace/left", "missing")]
    assert faults(traced(rate_hz=20, left=None, right=None)) == [("/trace/left", "missing")]


@pytest.mark.parametrize("sample", ["1", True, [], {}])
def test_a_sample_is_a_number_or_null(sample):
    samples = [None] * 19
    assert faults(traced(rate_hz=20, left=[*samples, sample])) == [("/trace/left/19", "wrong-type")]


def test_every_fault_is_named_at_once():
    document = changed("/reps/0/left", {"peak": 1, "mean": 2}, changed("/rpe", 11))
    document["pain"] = {"site": "a"}
    document["performed_at"] = "today"
    document["foo"] = 1
    document["reps"][1]["hold_s"] = "5"
    document["instrument"]["checked_on"] = "yesterday"
    assert set(faults(document)) == {
        ("/rpe", "out-of-limits"),
        ("/foo", "unknown-field"),
        ("/reps/1/hold_s", "wrong-type"),
        ("/reps/0/left/mean", "mean-above-peak"),
        ("/pain/score", "missing"),
        ("/performed_at", "wrong-format"),
        ("/instrument/checked_on", "wrong-format"),
    }


def test_at_most_100_faults_are_named():
    assert len(faults({**A_SET, **{f"key{number}": 1 for number in range(300)}})) == 100


def test_a_detail_says_what_was_seen_and_what_is_needed():
    with pytest.raises(DocumentRefused) as refused:
        parse_set(json.dumps(changed("/rpe", 11)), now=NOW)
    assert [fault.detail for fault in refused.value.faults] == ["rpe must be at most 10; seen: 11."]


@pytest.mark.parametrize("pointer", ["/note", "/client_ref", "/position/foot_mark", "/pain/site"])
@pytest.mark.parametrize("text", ["a\x00", "\ud800", "\udc00\ud800"])
def test_u_0000_and_lone_surrogates_are_refused_where_they_stand(pointer, text):
    document = changed(pointer, text)
    for read in (lambda: parse_set(json.dumps(document), now=NOW), lambda: parse_set_value(document, now=NOW)):
        with pytest.raises(DocumentRefused) as refused:
            read()
        assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [(pointer, "unfit-text")]


def test_a_surrogate_that_was_not_escaped_is_not_utf_8():
    with pytest.raises(DocumentRefused) as refused:
        parse_set(json.dumps(changed("/note", "\ud800"), ensure_ascii=False), now=NOW)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("", "not-utf-8")]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"rpe": 9', '"rpe": 9, "rpe": 9'),
        ('"rpe": 9', '"rpe": NaN, "rpe": 9'),
        ('"peak": 312', '"peak": 1, "peak": 312'),
        ('"peak": 312', '"peak" :1, "peak":312'),
        ('"kind"', '"kind": "other", "\\u006bind"'),
        ('"position": {', '"position": {"name": "x", "arms": ":"}, "position": {'),
        ('"note": "after ball session"', '"note": "\\":", "rpe" : 1'),
        ('"rpe": 9', '"rpe": 1e999'),
        ('"rpe": 9', '"rpe": -Infinity'),
        ('"rpe": 9', '"rpe": ' + "9" * 400),
        ('"rpe": 9', '"rpe": ' + "9" * 5000),
        ('"rpe": 9', '"rpe": 09'),
        ('"rpe": 9', '"rpe": ' + "[" * 5000 + "]" * 5000),
    ],
)
def test_a_malformed_set_is_refused_as_a_whole(old, new):
    text = json.dumps(A_SET)
    assert old in text
    with pytest.raises(DocumentRefused) as refused:
        parse_set(text.replace(old, new, 1), now=NOW)
    assert [fault.pointer for fault in refused.value.faults] == [""]


def test_a_whole_number_beyond_double_precision_is_refused_where_it_stands_in_a_value():
    with pytest.raises(DocumentRefused) as refused:
        parse_set_value(changed("/rpe", 10**5000), now=NOW)
    assert [fault.pointer for fault in refused.value.faults] == ["/rpe"]


def test_members_are_read_back_as_they_were_sent():
    document = {**A_SET, "rpe": None, "unit": "lbf", "body_mass_kg": 2**53 // 10**14, "note": 'é \U0001f600 \\" /'}
    body = json.dumps(document)
    for read in (parse_set(body, now=NOW), parse_set_value(json.loads(body), now=NOW)):
        back = read.verbatim()
        assert json.dumps(back) == body
        back["position"].clear()
        assert json.dumps(read.verbatim()) == body


def test_a_document_names_its_athlete_client_ref_and_time():
    document = parse_set(json.dumps(A_SET), now=NOW)
    assert (document.client_ref, document.athlete) == (A_SET["client_ref"], "MB-07")
    assert document.performed_at.isoformat() == A_SET["performed_at"]


_SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=5)
    | st.integers(300, 4000).map(lambda exponent: 10**exponent)
    | st.sampled_from(["2026-09-14T17:32:05Z", "squeeze", "N", "fixed-frame", "\ud800", 1e308])
)
_KEYS = st.sampled_from(
    sorted(
        {*A_SET, *A_SET["position"], *A_SET["instrument"], *A_SET["reps"][0], *A_SET["pain"], *TRACE, "peak", "mean"}
    )
) | st.text(max_size=3)
_VALUES = st.recursive(
    _SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_KEYS, inner, max_size=4), max_leaves=15
)
_POINTERS = st.sampled_from([*REQUIRED, *OPTIONAL, "/reps/0", "/trace"])


@given(_VALUES)
def test_no_value_does_more_than_be_refused(value):
    try:
        parse_set_value(value, now=NOW)
    except DocumentRefused as refused:
        assert 0 < len(refused.faults) <= 100  # noqa: PT017 -- either way is right, refusal must only be a proper one


@given(_POINTERS, _VALUES, _POINTERS, _VALUES)
def test_no_member_does_more_than_be_refused(first, one, second, other):
    document = changed(first, one)
    with contextlib.suppress(KeyError, TypeError, IndexError, AttributeError):  # the first change took the way away
        document = changed(second, other, document)
    try:
        read = parse_set_value(document, now=NOW)
    except DocumentRefused as refused:
        assert refused.faults  # noqa: PT017
    else:
        assert json.dumps(read.verbatim()) == json.dumps(document)


@given(st.binary(max_size=60), st.integers(0, 1200), st.integers(0, 40))
@example(b"\xff", 100, 0)
def test_no_bytes_do_more_than_be_refused(inserted, place, dropped):
    text = json.dumps(A_SET).encode()
    body = text[:place] + inserted + text[place + dropped :]
    try:
        read = parse_set(body, now=NOW)
    except DocumentRefused as refused:
        assert refused.faults  # noqa: PT017
    else:
        assert read.verbatim() == json.loads(body)


@given(st.text('{}[]",:\\ 0e9u-tn', max_size=6), st.integers(0, 1200), st.integers(0, 6))
def test_the_fast_and_the_exact_reading_take_the_same_bodies(inserted, place, dropped):
    text = json.dumps(A_SET)
    body = text[:place] + inserted + text[place + dropped :]
    try:
        exact = json.loads(body, object_pairs_hook=_without_twins)
        parse_set_value(exact, now=NOW)
    except (ValueError, DocumentRefused):
        with pytest.raises(DocumentRefused):
            parse_set(body, now=NOW)
    else:
        assert parse_set(body, now=NOW).verbatim() == exact


def _without_twins(pairs):
    if len(dict(pairs)) < len(pairs):
        raise ValueError("twins")
    return dict(pairs)
