"""JSON text is read exactly."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillset_core.decoding import decode_json, is_plain, text_faults
from stillset_core.errors import DocumentRefused

_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


def refusal(body: bytes) -> tuple[str, str]:
    with pytest.raises(DocumentRefused) as refused:
        decode_json(body)
    (fault,) = refused.value.faults
    return fault.pointer, fault.code


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b'{"a": "\xff"}', "not-utf-8"),
        ('{"a": 1}'.encode("utf-16"), "not-utf-8"),
        ('{"a": 1}'.encode("utf-16-le"), "not-json"),
        (b'\xef\xbb\xbf{"a": 1}', "not-json"),
        (b"", "not-json"),
        (b'{"a": 1', "not-json"),
        (b'{"a": 1,}', "not-json"),
        (b"{'a': 1}", "not-json"),
        (b'{"a": 01}', "not-json"),
        (b'{"a": 1} {}', "not-json"),
        (b'{"a": "\n"}', "not-json"),
        (b'{"a": NaN}', "not-json"),
        (b'{"a": -Infinity}', "not-json"),
        (b'{"a": [[1e999]]}', "number-too-large"),
        (b'{"a": -1.8e308}', "number-too-large"),
        (b'{"a": 1' + b"0" * 309 + b"}", "number-too-large"),
        (b'{"a": -' + b"9" * 5000 + b"}", "number-too-large"),
        (b'{"a": 1, "a": 1}', "duplicate-key"),
        (b'{"a": [{"b": {"c": 1, "\\u0063": 2}}]}', "duplicate-key"),
        (b"[" * 100_000, "too-deep"),
        (b'{"a":' * 100_000, "too-deep"),
    ],
)
def test_a_malformed_body_is_refused_as_a_whole(body, code):
    assert refusal(body) == ("", code)


def test_the_repeated_key_is_named():
    with pytest.raises(DocumentRefused, match="'rpe'"):
        decode_json(b'{"note": 1, "rpe": 1, "rpe": 1}')


@pytest.mark.parametrize("digits", ["1" + "0" * 308, "1.7976931348623157e308", "-" + "1" * 309, "1e-999", "-0"])
def test_a_number_at_the_edge_of_double_precision_is_taken(digits):
    assert float(decode_json(digits.encode())) == float(digits)


@given(_JSON)
def test_a_json_value_is_decoded_to_itself(value):
    for ascii_only in (True, False):
        assert decode_json(json.dumps(value, ensure_ascii=ascii_only).encode("utf-8", "surrogatepass")) == value


@given(
    st.dictionaries(st.text('a":\\ é\x00', max_size=3), st.text('a":\\ é\x00', max_size=4), min_size=1), st.booleans()
)
def test_a_plain_body_never_repeats_a_key_or_holds_u_0000(members, compact):
    separators = (",", ":") if compact else (" , ", " : ")
    once = json.dumps(members, separators=separators).encode()
    twice = once[:-1] + b"," + once[1:]
    assert not is_plain(twice, len(members))
    if is_plain(once, len(members)):
        assert not any("\x00" in text for pair in members.items() for text in pair)


def test_an_ordinary_body_is_plain_with_either_separator():
    value = {"note": '17:32, \u00e9 "quoted"', "position": {"name": "a"}}
    for separators in ((",", ":"), (", ", ": ")):
        assert is_plain(json.dumps(value, separators=separators).encode(), 3)
    assert is_plain(json.dumps(value, indent=2).encode(), 3)


@pytest.mark.parametrize(
    "body",
    [
        b'{"at":"17:32","a":1,"a" :2}',
        b'{"at":"17\\u003a32","a":1,"a" :2}',
        b'{"at":"17\\u003a32","a":1,"a":2}',
        b'{"at":"17:32","a":"\\u0000"}',
    ],
)
def test_knowing_the_colons_of_a_text_hides_no_repeated_key(body: bytes):
    assert json.loads(body)["at"] == "17:32"
    assert not is_plain(body, 2, colons=1)


def test_knowing_the_colons_of_a_text_vouches_for_any_spacing():
    assert is_plain(b'{"at" : "17:32", "a":1}', 2, colons=1)
    assert not is_plain(b'{"at" : "17:32", "a":1}', 2)


def test_text_is_searched_in_keys_lists_and_objects():
    value = {"a": ["fine", "\ud800", {"b/c": "x\x00"}], "d": {"e\x00": 1}, "f": "\U0001f600"}
    assert {(fault.pointer, fault.code) for fault in text_faults(value)} == {
        ("/a/1", "unfit-text"),
        ("/a/2/b~1c", "unfit-text"),
        ("/d", "unfit-text"),
    }
