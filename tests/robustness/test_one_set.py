"""One set, in every way wrong: refused with a problem that names the field, and nothing of it is stored."""

import gzip
from resource import RUSAGE_SELF, getrusage

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from inside import Inside, is_problem
from odd import ANYTHING, BOUNDED, BROKEN_TEXTS, ODD_NUMBERS, ODD_TIMES, full_set, nearly_sets, text_of, trace_set


def _refused_or_judged(inside: Inside, body: bytes) -> None:
    before = inside.stored()
    answer = inside.send("/v1/sets", body)
    if answer.status_code in {200, 201}:
        assert answer.json()["standings"]
        assert inside.send("/v1/sets", body).content == answer.content
        found = inside.get(f"/v1/sets/{answer.json()['id']}")
        assert found.status_code == 200, found.text
    else:
        is_problem(answer, 409, 413, 422)
        assert inside.stored() == before


@settings(BOUNDED, max_examples=250)
@given(nearly_sets(), st.integers(0, 10**6))
def test_a_set_with_something_odd_is_judged_whole_or_refused_whole(
    inside: Inside, document: dict[str, object], number: int
) -> None:
    if document.get("client_ref") == "odd-1":
        document["client_ref"] = f"odd-{number}"
    _refused_or_judged(inside, text_of(document))


@settings(BOUNDED, max_examples=60)
@given(BROKEN_TEXTS | st.binary(max_size=60) | ANYTHING.map(text_of))
def test_a_body_that_is_no_set_is_refused(inside: Inside, body: bytes) -> None:
    before = inside.stored()
    is_problem(inside.send("/v1/sets", body), 422)
    assert inside.stored() == before


@settings(BOUNDED, max_examples=60)
@given(st.integers(0, 10**6), st.sampled_from([full_set, trace_set]))
def test_a_body_that_ends_too_early_is_refused(inside: Inside, cut: int, make: object) -> None:
    body = text_of(make(client_ref="cut"))  # type: ignore[operator]
    is_problem(inside.send("/v1/sets", body[: cut % len(body)]), 422)


@pytest.mark.parametrize("escape", [b'"\\ud800"', b'"\\u0000"', b'"\xed\xa0\x80"'])
@pytest.mark.parametrize("member", [b"client_ref", b"athlete", b"note", b"session_ref", b"un\xc3\xafque"])
def test_text_that_is_no_text_is_refused_wherever_it_stands(inside: Inside, member: bytes, escape: bytes) -> None:
    is_problem(inside.send("/v1/sets", b'{"' + member + b'": ' + escape + b"}"), 422)
    is_problem(inside.send("/v1/sets", b"{" + escape + b": 1}"), 422)


@pytest.mark.parametrize(
    ("body", "faults"),
    [
        (b'{"client_ref": "a", "client_ref": "a"}', [""]),
        (b'{"rpe": NaN}', [""]),
        (b'{"rpe": 1e400}', [""]),
        (b"[" * 100_000, [""]),
        (text_of(full_set(rpe="9")), ["/rpe"]),
        (text_of(full_set(rpe=True)), ["/rpe"]),
        (text_of(full_set(unit="stone")), ["/unit"]),
        (text_of(full_set(performed_at="9999-12-31T23:59:59-23:59")), ["/performed_at"]),
        (text_of(full_set(performed_at="0001-01-01T00:00:00+23:59")), ["/performed_at"]),
        (text_of(full_set(performed_at=1789400000)), ["/performed_at"]),
        (text_of(full_set(athlete="nobody")), ["/athlete"]),
        (text_of(full_set(**{"a/b~c": 1})), ["/a~1b~0c"]),
        (text_of(full_set(reps=[])), ["/reps"]),
        (text_of(full_set(reps=None)), ["/reps"]),
        (text_of(full_set(reps=[{"direction": "squeeze", "hold_s": 5}])), ["/reps/0/left"]),
        (text_of(full_set(reps=[{"direction": "squeeze", "hold_s": 5, "left": {"peak": 1e400}}])), [""]),
        (
            text_of(full_set(unit="kN", reps=[{"direction": "squeeze", "hold_s": 5, "left": {"peak": 1e308}}])),
            ["/reps/0/left/peak"],
        ),
    ],
)
def test_the_problem_names_the_field(inside: Inside, body: bytes, faults: list[str]) -> None:
    # Python writes an infinite number as Infinity, which is no JSON, as the case with 1e400 wants it.
    problem = is_problem(inside.send("/v1/sets", body), 422)
    assert [error["pointer"] for error in problem["errors"]] == faults


@settings(BOUNDED, max_examples=20)
@example([300.0, 290.0, 1.7976931348623157e308, 1.7976931348623157e308])
@example([1.7976931348623157e308] * 4)
@example([5e-324] * 4)
@example([5e-324, 1.7976931348623157e308] * 2)
@given(st.lists(st.floats(min_value=5e-324, max_value=1.7976931348623157e308), min_size=4, max_size=4))
def test_forces_at_the_ends_of_double_precision_are_set_aside_or_read_and_every_view_stands(
    inside: Inside, forces: list[float]
) -> None:
    athlete = _fresh_athlete(inside)
    for number, unit in enumerate(("N", "[lbf_av]", "mm[Hg]")):
        reps = [
            {"direction": direction, "hold_s": 5, "left": {"peak": left}, "right": {"peak": right}}
            for direction, left, right in (("squeeze", *forces[:2]), ("spread", *forces[2:]))
        ]
        document = full_set(
            client_ref=f"{athlete}-{number}", athlete=athlete, reps=reps, unit=unit, performed_at="2026-09-14T17:00:00Z"
        )
        answer = inside.post("/v1/sets", document)
        if answer.status_code != 201:
            is_problem(answer, 422)
    _every_view_stands(inside, athlete)


@settings(BOUNDED, max_examples=40)
@given(st.lists(ODD_NUMBERS | st.none(), min_size=20, max_size=60), st.sampled_from([20, 20.5, 5000]))
def test_an_odd_trace_is_judged_whole_or_refused_whole(inside: Inside, samples: list[object], rate_hz: float) -> None:
    athlete = _fresh_athlete(inside)
    document = trace_set(client_ref=athlete, athlete=athlete, trace={"rate_hz": rate_hz, "left": samples})
    _refused_or_judged(inside, text_of(document))
    _every_view_stands(inside, athlete)


@settings(BOUNDED, max_examples=60)
@given(
    st.dictionaries(
        st.sampled_from([*full_set(), "trace", "status", "id"]), ANYTHING | ODD_TIMES | ODD_NUMBERS, max_size=4
    )
    | ANYTHING,
)
def test_an_odd_amendment_is_judged_whole_or_refused_whole(inside: Inside, changes: object) -> None:
    athlete = _fresh_athlete(inside)
    made = inside.post("/v1/sets", full_set(client_ref=athlete, athlete=athlete)).json()
    before = inside.stored()
    answer = inside.send(f"/v1/sets/{made['id']}/amend", text_of({"reason": "odd", "changes": changes}))
    if answer.status_code == 200:
        assert answer.json()["status"] == "amended"
    else:
        is_problem(answer, 422)
        assert inside.stored() == before
    _every_view_stands(inside, athlete)
    assert inside.post(f"/v1/sets/{made['id']}/withdraw", {"reason": "done"}).status_code == 200


@pytest.mark.parametrize("depth", [100, 400, 900, 990, 100_000])
def test_a_deeply_nested_amendment_is_refused(inside: Inside, depth: int) -> None:
    athlete = _fresh_athlete(inside)
    made = inside.post("/v1/sets", full_set(client_ref=athlete, athlete=athlete)).json()
    deep = b'{"reason": "deep", "changes": {"position": ' + b'{"a":' * depth + b"1" + b"}" * depth + b"}}"
    is_problem(inside.send(f"/v1/sets/{made['id']}/amend", deep), 422)


@pytest.mark.parametrize(
    ("media", "status"),
    [
        ("", 415),
        ("text/plain", 415),
        ("application/xml", 415),
        ("application/x-ndjson", 415),
        ("application/json; charset=utf-16", 415),
        ("application/json; charset=\xff", 415),
        ("application/json;;;=", 422),
        ("APPLICATION/JSON; charset=UTF-8", 422),
    ],
)
def test_only_json_is_read(inside: Inside, media: str, status: int) -> None:
    answer = inside.ask("POST", "/v1/sets", content=b"{}", headers=[(b"content-type", media.encode("latin-1"))])
    is_problem(answer, status)


EMPTY = gzip.compress(b"{}", mtime=0)
"""Without the time in it, which would name the same test otherwise in each process."""


@pytest.mark.parametrize(
    ("encoding", "body", "status"),
    [
        ("br", b"{}", 415),
        ("deflate", b"{}", 415),
        ("gzip, gzip", EMPTY, 415),
        ("\xff", b"{}", 415),
        ("gzip", b"", 422),
        ("gzip", b"{}", 422),
        ("gzip", EMPTY[:-1], 422),
        ("gzip", EMPTY[:-9], 422),
        ("gzip", EMPTY[:12], 422),
        ("gzip", EMPTY + b"junk", 422),
        ("gzip", gzip.compress(text_of(full_set()), mtime=0)[:-8] + b"\0" * 8, 422),
        ("gzip", gzip.compress(b"x" * 9 * 1024 * 1024, mtime=0), 413),
        ("GZIP", EMPTY, 422),
    ],
)
def test_compression_is_gzip_and_sound(inside: Inside, encoding: str, body: bytes, status: int) -> None:
    headers = [(b"content-type", b"application/json"), (b"content-encoding", encoding.encode("latin-1"))]
    is_problem(inside.ask("POST", "/v1/sets", content=body, headers=headers), status)


@pytest.mark.parametrize("query", ["dry_run=yes", "dry_run=", "dry_run", "dry_run=true&dry_run=true", "x=1", "%00=%ff"])
def test_an_unclear_query_is_refused_and_named(inside: Inside, query: str) -> None:
    before = inside.stored()
    problem = is_problem(inside.post(f"/v1/sets?{query}", full_set(client_ref="query")), 422)
    assert all("parameter" in error for error in problem["errors"])
    assert inside.stored() == before


@pytest.mark.parametrize(
    "part", [b"[]", b"{}", b'{"a":1}', b"1", b'"a"', b"null", b'{"direction":"squeeze","hold_s":5}']
)
@pytest.mark.parametrize("member", [b"reps", b"position", b"note", b"odd"])
def test_millions_of_parts_are_refused_without_keeping_them(inside: Inside, member: bytes, part: bytes) -> None:
    size = 3 * 1024 * 1024
    body = b'{"' + member + b'":[' + part + (b"," + part) * (size // (len(part) + 1)) + b"]}"
    before, most_before = inside.stored(), getrusage(RUSAGE_SELF).ru_maxrss
    is_problem(inside.send("/v1/sets", body), 422)
    assert inside.stored() == before
    assert getrusage(RUSAGE_SELF).ru_maxrss - most_before < 400 * 1024  # kilobytes


_numbers = iter(range(1, 10**6))


def _fresh_athlete(inside: Inside) -> str:
    return inside.athlete(f"F-{next(_numbers)}")


def _every_view_stands(inside: Inside, athlete: str) -> None:
    for view in ("sets", "readings", "trend", "trend?history=true", "balance", "load", "pain", "attention", "export"):
        answer = inside.get(f"/v1/athletes/{athlete}/{view}")
        assert answer.status_code == 200, (view, answer.text)
        assert b"NaN" not in answer.content
    assert inside.get(f"/athletes/{athlete}").status_code == 200
