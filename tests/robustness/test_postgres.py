"""What SQLite takes with patience, PostgreSQL may refuse: texts, numbers and keys to its taste or not."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inside import Inside, is_problem
from odd import ANYTHING, BOUNDED, ODD_TEXTS, nearly_sets, text_of

from stillset_service.pages.session import COOKIE


@settings(BOUNDED, max_examples=150)
@given(nearly_sets(), st.integers(0, 10**6))
def test_a_set_with_something_odd_is_judged_whole_or_refused_whole(
    inside_postgres: Inside, document: dict[str, object], number: int
) -> None:
    if document.get("client_ref") == "odd-1":
        document["client_ref"] = f"odd-{number}"
    before = inside_postgres.stored()
    answer = inside_postgres.send("/v1/sets", text_of(document))
    if answer.status_code in {200, 201}:
        assert inside_postgres.send("/v1/sets", text_of(document)).content == answer.content
        assert inside_postgres.get(f"/v1/sets/{answer.json()['id']}").status_code == 200
    else:
        is_problem(answer, 409, 422)
        assert inside_postgres.stored() == before


@settings(BOUNDED, max_examples=100)
@given(
    st.sampled_from(
        [
            ("POST", "/v1/athletes", ["ref", "name", "squad", "role", "born"]),
            ("PATCH", "/v1/athletes/A-01", ["name", "squad", "role", "born"]),
            ("POST", "/v1/squads", ["ref", "name"]),
            ("POST", "/v1/keys", ["name", "scopes"]),
            ("POST", "/v1/athletes/A-01/periods", ["kind", "from", "to", "note"]),
            ("PUT", "/v1/athletes/A-01/standard-position", ["position", "instrument_kind", "valid_from"]),
            ("PUT", "/v1/protocol", ["baseline", "trend", "min_hold_s"]),
        ]
    ),
    st.data(),
)
def test_odd_bodies_are_taken_or_refused(
    inside_postgres: Inside, route: tuple[str, str, list[str]], data: st.DataObject
) -> None:
    method, path, members = route
    body = data.draw(st.dictionaries(st.sampled_from(members), ODD_TEXTS | ANYTHING, min_size=1))
    before = inside_postgres.stored()
    headers = {"Content-Type": "application/json"}
    answer = inside_postgres.ask(method, path, content=text_of(body), headers=headers)
    if answer.status_code >= 400:
        is_problem(answer, 409, 422)
        assert inside_postgres.stored() == before


@pytest.mark.parametrize(
    "segment", ["%00", "A-01%00", "%ff", "%ed%a0%80", "%F0%9F%A6%B5", "a" * 10_000, "%27--", "%25s"]
)
@pytest.mark.parametrize(
    "path",
    [
        "/v1/athletes/{}",
        "/v1/athletes/{}/trend",
        "/v1/athletes/A-01/periods/{}",
        "/v1/squads/{}/board",
        "/v1/sets/{}",
        "/v1/sets/{}/withdraw",
        "/v1/keys/{}",
        "/athletes/{}",
    ],
)
def test_odd_paths_lead_nowhere(inside_postgres: Inside, path: str, segment: str) -> None:
    method = "POST" if path.endswith("withdraw") else "DELETE" if "keys" in path or "periods" in path else "GET"
    body = {"reason": "odd"} if method == "POST" else None
    answer = inside_postgres.ask(method, path.format(segment), json=body)
    assert answer.status_code == 404, answer.text


@pytest.mark.parametrize(
    "cookie",
    [
        b'"\\000.9999999999.0"',
        b'"\\377.9999999999.\\000"',
        b"\xff.9999999999.\xff",
        b"..",
        b"%00.9999999999.%00",
        b"' OR 1=1--.9999999999.0",
    ],
)
def test_an_odd_cookie_is_no_session(inside_postgres: Inside, cookie: bytes) -> None:
    headers = [(b"cookie", COOKIE.encode() + b"=" + cookie), (b"authorization", b"")]
    for path in ("/", "/athletes/A-01"):
        answer = inside_postgres.get(path, headers=headers)
        assert answer.status_code == 401, answer.text
        assert "Somebody" not in answer.text


@settings(BOUNDED, max_examples=60)
@given(ODD_TEXTS.map(lambda text: text.encode("utf-8", "surrogatepass").decode("latin-1")))
def test_an_odd_key_is_no_key(inside_postgres: Inside, text: str) -> None:
    token = "".join(one for one in text if one not in "\r\n\0").encode("latin-1")
    for value in (b"Bearer " + token, b"Bearer ss_" + token + b"_" + token):
        is_problem(inside_postgres.get("/v1/athletes", headers=[(b"authorization", value)]), 401)
    signed_in = inside_postgres.ask("POST", "/login", data={"key": text, "next": text})
    assert signed_in.status_code in {200, 401, 403, 422}, signed_in.text
