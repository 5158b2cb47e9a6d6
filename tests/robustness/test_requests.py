"""Paths, queries and headers that no sound client sends: answered in order, or refused with a problem."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inside import Inside, is_problem
from odd import ANYTHING, BOUNDED, ODD_TEXTS, ODD_TIMES, full_set, text_of

ATHLETE_VIEWS = ["sets", "readings", "trend", "balance", "load", "pain", "periods", "attention"]
SQUAD_VIEWS = ["board", "norms", "coverage"]
LISTS = ["athletes", "squads", "keys", "audit", "protocol/versions", "athletes/A-01/standard-position"]
FORMATS = ["application/json", "text/csv", "application/vnd.apache.parquet", "application/vnd.apache.arrow.stream"]

ODD_SEGMENTS = st.sampled_from(
    [
        "%00",
        "A-01%00",
        "A-01%2F",
        "%2F..%2F",
        "..",
        ".",
        "%2e%2e",
        "A-01%0d%0aX-Injected:%201",
        "%ff%fe",
        "%ed%a0%80",
        "%F0%9F%A6%B5",
        "%",
        "%zz",
        "a" * 10_000,
        "%27%20OR%201=1--",
        "A-01;x=1",
        "{ref}",
        "%25s",
        "?",
    ]
)
ODD_HEADERS = st.binary(max_size=40).map(lambda text: bytes(one for one in text if one not in b"\r\n\0"))


@pytest.fixture(scope="module", autouse=True)
def _something_to_read(inside: Inside) -> None:
    assert inside.post("/v1/squads", {"ref": "first"}).status_code == 201
    assert inside.ask("PATCH", "/v1/athletes/A-01", json={"squad": "first"}).status_code == 200
    for day in range(1, 9):
        document = full_set(client_ref=f"read-{day}", performed_at=f"2026-09-{day:02d}T17:00:00+02:00")
        assert inside.post("/v1/sets", document).status_code == 201


@settings(BOUNDED, max_examples=150)
@given(
    st.sampled_from([f"/v1/athletes/A-01/{view}" for view in ATHLETE_VIEWS])
    | st.sampled_from([f"/v1/squads/first/{view}" for view in SQUAD_VIEWS]),
    st.dictionaries(
        st.sampled_from(["from", "to", "as_of", "limit", "cursor", "standing", "history", "From", "x"]),
        ODD_TIMES
        | ODD_TEXTS.filter(lambda text: text.isprintable())
        | st.sampled_from(
            ["0001-01-01", "9999-12-31", "2026-09-05", "2026-09-05T00:00:00Z", "0", "1", "-1", "1001", "1e2", "true"]
        )
        | st.sampled_from(["counts", "at_least", "false", "W10", "WyJzZXRzIl0", "WyJzZXRzIiwxZTk5OSwiYSJd"]),
        max_size=4,
    ),
    st.sampled_from(FORMATS),
)
def test_odd_queries_are_answered_or_refused_by_name(
    inside: Inside, path: str, query: dict[str, str], accept: str
) -> None:
    answer = inside.get(path, params=query, headers={"Accept": accept})
    if answer.status_code == 200:
        assert answer.headers["content-type"].startswith(accept)
    else:
        problem = is_problem(answer, 422)
        assert {error["parameter"] for error in problem["errors"]} <= set(query)


@settings(BOUNDED, max_examples=60)
@given(st.sampled_from(LISTS), st.sampled_from(["limit", "cursor", "from", "x"]), ODD_TEXTS | ODD_TIMES)
def test_odd_queries_of_lists_are_answered_or_refused_by_name(
    inside: Inside, name: str, parameter: str, value: str
) -> None:
    value = value.encode("utf-8", "replace").decode()
    answer = inside.get(f"/v1/{name}", params={parameter: value})
    if answer.status_code != 200:
        problem = is_problem(answer, 422)
        assert [error["parameter"] for error in problem["errors"]] == [parameter]


@pytest.mark.parametrize("as_of", ["0001-01-01", "1989-06-01", "2026-09-04T15:00:00Z", "9999-12-31"])
@pytest.mark.parametrize("accept", FORMATS)
def test_any_moment_of_the_calendar_can_be_asked_for(inside: Inside, as_of: str, accept: str) -> None:
    for path in (
        *(f"/v1/athletes/A-01/{view}" for view in ATHLETE_VIEWS),
        *(f"/v1/squads/first/{view}" for view in SQUAD_VIEWS),
        "/v1/athletes/A-01/trend?history=true",
    ):
        separator = "&" if "?" in path else "?"
        answer = inside.get(f"{path}{separator}as_of={as_of}", headers={"Accept": accept})
        assert answer.status_code == 200, (path, answer.text)


@settings(BOUNDED, max_examples=150)
@given(
    st.sampled_from(["GET", "PUT", "POST", "PATCH", "DELETE", "HEAD", "OPTIONS", "BREW"]),
    st.sampled_from(
        [
            "/v1/athletes/{}",
            "/v1/athletes/{}/trend",
            "/v1/athletes/{}/export",
            "/v1/athletes/{}/standard-position",
            "/v1/athletes/{}/periods/{}",
            "/v1/squads/{}",
            "/v1/squads/{}/board",
            "/v1/sets/{}",
            "/v1/sets/{}/amend",
            "/v1/sets/{}/withdraw",
            "/v1/keys/{}",
            "/v1/{}",
            "/athletes/{}",
            "/static/{}",
            "/{}",
        ]
    ),
    ODD_SEGMENTS,
)
def test_odd_paths_lead_nowhere(inside: Inside, method: str, path: str, segment: str) -> None:
    body = {"reason": "odd"} if method in {"PUT", "POST", "PATCH"} else None
    answer = inside.ask(method, path.replace("{}", segment), json=body)
    assert answer.status_code < 500, answer.text
    if path.startswith("/v1/") and answer.status_code >= 400 and method != "HEAD":
        is_problem(answer, 404, 405, 422)


@settings(BOUNDED, max_examples=200)
@given(
    st.sampled_from(
        ["/v1/athletes/A-01/trend", "/v1/athletes/A-01/sets?limit=1", "/v1/athletes?limit=1", "/", "/login"]
    ),
    st.sampled_from(
        [
            b"accept",
            b"accept-language",
            b"accept-encoding",
            b"if-none-match",
            b"if-modified-since",
            b"range",
            b"cookie",
            b"host",
            b"origin",
            b"referer",
            b"sec-fetch-site",
            b"x-forwarded-for",
            b"x-forwarded-proto",
            b"content-type",
            b"content-length",
            b"user-agent",
        ]
    ),
    ODD_HEADERS
    | st.sampled_from(
        [
            b"[",
            b"]:80",
            b"a:b:c",
            b"[::1",
            b"host:99999999",
            b"a/b?c#d",
            b"*",
            b'"',
            b'W/"',
            b"bytes=0-0,-1",
            b"bytes=99999999999999999999-",
            b"text/csv;q=nan",
            b"*/*;q=-1",
            b"a" * 8_000,
            b";=;=;",
            b"stillset_session=x; stillset_session=\xff",
            b"," * 2_000,
        ]
    ),
)
def test_odd_headers_are_passed_over_or_refused(inside: Inside, path: str, name: bytes, value: bytes) -> None:
    answer = inside.get(path, headers=[(name, value)])
    assert answer.status_code in {200, 303, 304, 400, 401, 406}, answer.text
    if answer.status_code in {400, 406}:
        is_problem(answer)


@settings(BOUNDED, max_examples=100)
@given(
    ODD_HEADERS
    | st.sampled_from(
        [
            b"Bearer",
            b"Bearer ",
            b"Bearer ss_",
            b"Bearer ss__",
            b"Bearer ss_\xff_\xff",
            b"Bearer ss_%s_?",
            b"Bearer ss_000000000000_" + b"a" * 8_000,
            b"Basic Zm9vOmJhcg==",
            b"bearer\t\tss_0_0",
        ]
    ),
    st.sampled_from(["/v1/athletes", "/v1/sets", "/v1/sets/batch", "/v1/athletes/A-01/trend", "/v1/keys"]),
)
def test_an_odd_key_is_no_key(inside: Inside, value: bytes, path: str) -> None:
    method = "POST" if path.startswith("/v1/sets") else "GET"
    answer = inside.ask(method, path, headers=[(b"authorization", value)])
    is_problem(answer, 401)
    assert answer.headers["www-authenticate"] == "Bearer"


@settings(BOUNDED, max_examples=150)
@given(
    st.sampled_from(
        [
            ("POST", "/v1/athletes", ["ref", "name", "squad", "role", "dominant_side", "sex", "born", "archived"]),
            ("PATCH", "/v1/athletes/A-01", ["ref", "name", "squad", "role", "dominant_side", "sex", "born"]),
            ("POST", "/v1/squads", ["ref", "name"]),
            ("PATCH", "/v1/squads/first", ["ref", "name"]),
            ("POST", "/v1/keys", ["name", "scopes"]),
            ("POST", "/v1/athletes/A-01/periods", ["kind", "from", "to", "note"]),
            ("PUT", "/v1/athletes/A-01/standard-position", ["position", "instrument_kind", "valid_from"]),
        ]
    ),
    st.data(),
)
def test_odd_bodies_of_the_other_routes_are_taken_or_refused_by_name(
    inside: Inside, route: tuple[str, str, list[str]], data: st.DataObject
) -> None:
    method, path, members = route
    body = data.draw(
        ANYTHING | st.dictionaries(st.sampled_from([*members, "x"]), ANYTHING | ODD_TIMES, max_size=len(members))
    )
    before = inside.stored()
    headers = {"Content-Type": "application/json"}
    answer = inside.ask(method, path, content=text_of(body), headers=headers)
    if answer.status_code >= 400:
        is_problem(answer, 409, 422)
        assert inside.stored() == before
    board = inside.get("/v1/squads/first/board")
    assert board.status_code == 200, board.text


@settings(BOUNDED, max_examples=60)
@given(st.data())
def test_an_odd_protocol_is_taken_or_refused_by_name_and_every_view_stands(inside: Inside, data: st.DataObject) -> None:
    settings_now = inside.get("/v1/protocol").json()["settings"]
    names = [*sorted(settings_now), "x"]
    edges = st.sampled_from([0, 1e-9, 1, 5, 10, 60, 99.99, 100, 120, 600, 3650])
    body = data.draw(st.dictionaries(st.sampled_from(names), edges | ANYTHING, max_size=4))
    answer = inside.ask("PUT", "/v1/protocol", content=text_of(body), headers={"Content-Type": "application/json"})
    if answer.status_code != 200:
        problem = is_problem(answer, 422)
        assert all(error["pointer"] for error in problem["errors"])
        return
    for view in ATHLETE_VIEWS:
        assert inside.get(f"/v1/athletes/A-01/{view}").status_code == 200


@pytest.mark.parametrize("dates", [("0001-01-01", "9999-12-31"), ("9999-12-31", None), ("0001-01-01", "0001-01-01")])
def test_a_period_may_reach_to_the_ends_of_the_calendar(inside: Inside, dates: tuple[str, str | None]) -> None:
    period = {"kind": "injury", "from": dates[0], "to": dates[1]}
    assert inside.post("/v1/athletes/A-01/periods", period).status_code == 201
    position = {
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60},
        "instrument_kind": "fixed-frame",
        "valid_from": dates[0],
    }
    assert inside.ask("PUT", "/v1/athletes/A-01/standard-position", json=position).status_code == 200
    for path in (*(f"/v1/athletes/A-01/{view}" for view in ATHLETE_VIEWS), "/v1/squads/first/board"):
        assert inside.get(path).status_code == 200
    for page in ("/", "/athletes/A-01"):
        assert inside.get(page).status_code == 200


_TREND = {
    "drift_per_sqrt_day": [0, 1e-12, 10],
    "drift_correlation": [0, 0.999999999],
    "noise_sd": [1e-12, 1e-300, 10],
    "side_noise_correlation": [0, 0.999999999],
    "session_sd": [0, 10],
    "outlier_share": [0, 0.5, 0.999999999],
    "outlier_sd": [0, 10],
    "outlier_side_correlation": [0, 0.999999999],
    "rep_sd": [0, 10],
    "bound_margin": [0, 10],
    "prior_mean_log": [-20, 0, 20],
    "prior_sd": [1e-12, 10],
    "prior_side_correlation": [0, 0.999999999],
    "noise_scale_prior_sd": [0, 1e-12, 10],
}


@settings(BOUNDED, max_examples=60)
@given(
    st.dictionaries(st.sampled_from(sorted(_TREND)), st.integers(0, 2), min_size=1, max_size=4),
    st.tuples(
        st.sampled_from([{}, {"baseline": {"readings": 1}}, {"baseline": {"from": "0001-01-01", "to": "9999-12-31"}}]),
        st.sampled_from([{}, {"false_calls_per_season": 1e-9}, {"false_calls_per_season": 40}]),
        st.sampled_from([{}, {"value": "mean", "summary": "mean"}, {"side_gap_formula": "symmetry-angle"}]),
    ),
)
def test_the_engine_stands_at_the_ends_of_its_settings(
    inside: Inside, chosen: dict[str, int], more: tuple[dict[str, object], ...]
) -> None:
    trend = {name: _TREND[name][place % len(_TREND[name])] for name, place in chosen.items()}
    body: dict[str, object] = {"trend": trend}
    for one in more:
        body |= one
    put = inside.ask("PUT", "/v1/protocol", json=body)
    assert put.status_code == 200, put.text
    for path in (*(f"/v1/athletes/A-01/{view}" for view in ATHLETE_VIEWS), "/v1/squads/first/board", "/athletes/A-01"):
        answer = inside.get(path)
        assert answer.status_code == 200, (body, answer.text)
    assert inside.get("/v1/athletes/A-01/trend?history=true").status_code == 200
