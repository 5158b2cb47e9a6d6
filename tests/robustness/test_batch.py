"""Batches that are broken, hostile or enormous: one bad set never refuses its neighbours, nothing is kept by halves."""

import gzip
import json
import tracemalloc
import zlib
from collections.abc import AsyncIterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inside import Inside, is_problem
from odd import ANYTHING, BOUNDED, BROKEN_TEXTS, full_set, nearly_sets, text_of

NDJSON = "application/x-ndjson"
MEBIBYTE = 1024 * 1024
OUTCOMES = {"stored", "seen", "conflict", "invalid"}
KEYS = {"index", "client_ref", "outcome", "id", "standings", "problem"}

_numbers = iter(range(1, 10**7))


def _good() -> dict[str, object]:
    return full_set(client_ref=f"good-{next(_numbers)}")


def _sound_results(answer_text: bytes, count: int) -> list[dict[str, object]]:
    answer = json.loads(answer_text)
    results = answer["results"]
    assert [result["index"] for result in results] == list(range(count))
    assert set(answer["counts"]) == OUTCOMES
    assert sum(answer["counts"].values()) == count
    for result in results:
        assert set(result) == KEYS
        if result["outcome"] in {"stored", "seen"}:
            assert result["id"]
            assert result["standings"]
            assert result["problem"] is None
        else:
            assert result["outcome"] in OUTCOMES
            assert result["id"] is None
            assert result["problem"]["status"] in {409, 413, 422}
            assert result["problem"]["errors"]
    return results


@settings(BOUNDED, max_examples=60)
@given(st.lists(nearly_sets().map(text_of) | ANYTHING.map(text_of), max_size=4), st.booleans(), st.booleans())
def test_bad_items_leave_their_neighbours_alone(
    inside: Inside, bad: list[bytes], lines: bool, compressed: bool
) -> None:
    good = [_good(), _good()]
    items = [text_of(good[0]), *bad, text_of(good[1])]
    body = b"\r\n \n".join(items) if lines else b"[" + b" ,\n".join(items) + b"]"
    more = {"Content_Encoding": "gzip"} if compressed else {}
    media = NDJSON if lines else "application/json"
    answer = inside.send("/v1/sets/batch", gzip.compress(body, 1) if compressed else body, media, **more)
    assert answer.status_code == 200, answer.text
    results = _sound_results(answer.content, len(items))
    assert [results[0]["outcome"], results[-1]["outcome"]] == ["stored", "stored"]
    for document in good:
        assert inside.post("/v1/sets", document).status_code == 200


@settings(BOUNDED, max_examples=60)
@given(st.lists(BROKEN_TEXTS | st.binary(min_size=1, max_size=40), min_size=1, max_size=4))
def test_broken_lines_are_invalid_each_by_itself(inside: Inside, broken: list[bytes]) -> None:
    body = b"\n".join([text_of(_good()), *broken, text_of(_good())])
    count = sum(1 for line in body.split(b"\n") if line.strip(b" \t\r"))
    answer = inside.send("/v1/sets/batch", body, NDJSON)
    assert answer.status_code == 200, answer.text
    results = _sound_results(answer.content, count)
    assert [results[0]["outcome"], results[-1]["outcome"]] == ["stored", "stored"]


@settings(BOUNDED, max_examples=60)
@given(BROKEN_TEXTS | st.binary(max_size=60) | ANYTHING.map(text_of))
def test_a_body_that_is_no_array_is_refused_whole(inside: Inside, body: bytes) -> None:
    before = inside.stored()
    answer = inside.send("/v1/sets/batch", body)
    if answer.status_code == 200:
        results = _sound_results(answer.content, len(json.loads(body)))
        assert {result["outcome"] for result in results} <= {"invalid"}
    else:
        problem = is_problem(answer, 422)
        assert [error["pointer"] for error in problem["errors"]] == [""]
    assert inside.stored() == before


@settings(BOUNDED, max_examples=60)
@given(st.floats(0, 1, exclude_max=True), st.booleans())
def test_a_batch_that_ends_too_early_is_refused_whole(inside: Inside, share: float, compressed: bool) -> None:
    before = inside.stored()
    body = text_of([_good(), _good(), _good()])
    sent = gzip.compress(body) if compressed else body
    more = {"Content_Encoding": "gzip"} if compressed else {}
    is_problem(inside.send("/v1/sets/batch", sent[: int(share * len(sent))], **more), 422)
    assert inside.stored() == before


@pytest.mark.parametrize("media", [NDJSON, "application/json"])
@pytest.mark.parametrize("deep", [b"[" * 100_000 + b"]" * 100_000, b'{"a":' * 100_000 + b"1" + b"}" * 100_000])
def test_deep_nesting_is_refused(inside: Inside, media: str, deep: bytes) -> None:
    answer = inside.send("/v1/sets/batch", b"[" + deep + b"]" if media == "application/json" else deep, media)
    if media == NDJSON:
        assert answer.json()["counts"]["invalid"] == 1
    else:
        is_problem(answer, 422)


@pytest.mark.parametrize("bomb", [b"\n", b" ", b"[", b"[],", b"x", b"0", b'"', b"{}\n", b"\xff"])
@pytest.mark.parametrize("media", [NDJSON, "application/json"])
def test_a_bomb_is_refused_before_it_goes_off(inside: Inside, media: str, bomb: bytes) -> None:
    packed = gzip.compress(bomb * (200 * MEBIBYTE // len(bomb)), 1)
    before = inside.stored()
    tracemalloc.start()
    is_problem(inside.send("/v1/sets/batch", packed, media, Content_Encoding="gzip"), 413)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 100 * MEBIBYTE
    assert inside.stored() == before


@pytest.mark.parametrize("media", [NDJSON, "application/json"])
def test_blank_space_up_to_the_limit_costs_no_more_memory_than_the_body(inside: Inside, media: str) -> None:
    body = text_of(_good()) + b"\n" * 30 * MEBIBYTE + text_of(_good())
    if media == "application/json":
        body = b"[" + body.replace(b"}\n", b"},\n", 1) + b"]"
    packed = gzip.compress(body, 1)
    tracemalloc.start()
    answer = inside.send("/v1/sets/batch", packed, media, Content_Encoding="gzip")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert answer.json()["counts"]["stored"] == 2
    assert peak < 160 * MEBIBYTE


def test_many_empty_gzip_members_are_read_in_one_pass(inside: Inside) -> None:
    # Reading each member from a copy of all that follows would touch 10^11 bytes here: minutes instead of a moment.
    packed = gzip.compress(b"") * 150_000 + gzip.compress(text_of([_good()])) + gzip.compress(b" \n ")
    answer = inside.send("/v1/sets/batch", packed, Content_Encoding="gzip")
    assert answer.json()["counts"]["stored"] == 1


@pytest.mark.parametrize("path", ["/v1/sets", "/v1/sets/batch", "/v1/athletes", "/v1/protocol"])
def test_a_body_of_100_megabytes_is_refused_without_being_gathered(inside: Inside, path: str) -> None:
    sent = 0

    async def endless() -> AsyncIterator[bytes]:
        nonlocal sent
        chunk = b" " * 65_536
        while sent < 100 * MEBIBYTE:
            sent += len(chunk)
            yield chunk

    tracemalloc.start()
    method = "PUT" if path == "/v1/protocol" else "POST"
    headers = {"Content-Type": "application/json"}
    is_problem(inside.ask(method, path, content=endless(), headers=headers), 413)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert sent < 40 * MEBIBYTE
    assert peak < 80 * MEBIBYTE


def test_one_set_too_many_refuses_the_batch(inside: Inside) -> None:
    before = inside.stored()
    body = b"\n".join([text_of(_good()), *[b"{}"] * 5000])
    is_problem(inside.send("/v1/sets/batch", body, NDJSON), 413)
    array = b"[" + b",".join([text_of(_good()), *[b"{}"] * 5000]) + b"]"
    is_problem(inside.send("/v1/sets/batch", array), 413)
    assert inside.stored() == before
    answer = inside.send("/v1/sets/batch", b"\n".join([b"{}"] * 5000), NDJSON)
    assert answer.json()["counts"]["invalid"] == 5000


def test_an_item_over_its_own_limit_is_invalid_and_its_neighbours_are_stored(inside: Inside) -> None:
    huge = b'{"note": "' + b"x" * (9 * MEBIBYTE) + b'"}'
    padded = b"{" + b" " * (5 * MEBIBYTE) + text_of(_good())[1:]
    body = b"\n".join([text_of(_good()), huge, padded, text_of(_good())])
    answer = inside.send("/v1/sets/batch", body, NDJSON)
    results = _sound_results(answer.content, 4)
    assert [result["outcome"] for result in results] == ["stored", "invalid", "invalid", "stored"]


@settings(BOUNDED, max_examples=40)
@given(st.data())
def test_gzip_with_a_flipped_byte_is_refused_whole_or_was_sound(inside: Inside, data: st.DataObject) -> None:
    body = text_of([full_set(client_ref="flipped")] * 2)
    packed = bytearray(gzip.compress(body, mtime=0))
    place = data.draw(st.integers(0, len(packed) - 1))
    packed[place] ^= data.draw(st.integers(1, 255))
    before = inside.stored()
    answer = inside.send("/v1/sets/batch", bytes(packed), Content_Encoding="gzip")
    if answer.status_code == 200:
        # Time stamp, operating system and flags of the header carry no content.
        assert zlib.decompressobj(wbits=31).decompress(bytes(packed)) == body
    else:
        is_problem(answer, 413, 422)
        assert inside.stored() == before
