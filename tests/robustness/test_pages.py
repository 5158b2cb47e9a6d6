"""The pages, asked for what they do not have: a page all the same, and never somebody else's words as markup."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inside import Inside
from odd import BOUNDED, ODD_TEXTS, ODD_TIMES, full_set

MARKUP = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


@pytest.fixture(scope="module", autouse=True)
def _somebody_to_show(inside: Inside) -> None:
    facts = {"name": MARKUP, "role": MARKUP[:64]}
    assert inside.ask("PATCH", "/v1/athletes/A-01", json=facts).status_code == 200
    for day in range(1, 9):
        document = full_set(
            client_ref=f"{MARKUP[:50]}{day}",
            performed_at=f"2026-09-{day:02d}T17:00:00+02:00",
            note=MARKUP,
            session_ref=f"{MARKUP[:40]}{day}",
            pain={"score": 4, "site": MARKUP},
        )
        document["position"]["foot_mark"] = MARKUP[:40]  # type: ignore[index]
        assert inside.post("/v1/sets", document).status_code == 201
    period = {"kind": "injury", "from": "2026-09-02", "to": "2026-09-04", "note": MARKUP}
    assert inside.post("/v1/athletes/A-01/periods", period).status_code == 201


@settings(BOUNDED, max_examples=60)
@given(
    st.sampled_from(["/", "/athletes/A-01", "/login"]),
    st.dictionaries(
        st.sampled_from(["sort", "order", "role", "squad", "span", "standing", "page", "series", "set", "next", "x"]),
        ODD_TEXTS.map(lambda text: text.encode("utf-8", "replace").decode())
        | ODD_TIMES
        | st.sampled_from([MARKUP, "-1", "999999", "1e9", "name", "down", "counts", "all", "//elsewhere", "\r\nX: y"]),
        max_size=4,
    ),
)
def test_odd_queries_give_a_page_without_foreign_markup(inside: Inside, path: str, query: dict[str, str]) -> None:
    answer = inside.get(path, params=query)
    assert answer.status_code == 200
    assert "<script>alert" not in answer.text
    assert "<img src=x" not in answer.text


@settings(BOUNDED, max_examples=12)
@given(
    st.dictionaries(
        st.sampled_from(["theme", "width", "span", "series"]), ODD_TEXTS.filter(str.isprintable), max_size=4
    )
)
def test_odd_queries_give_a_picture_that_runs_nothing(inside: Inside, query: dict[str, str]) -> None:
    answer = inside.get("/athletes/A-01/chart.svg", params=query)
    assert answer.status_code == 200
    assert "<script" not in answer.text
    assert "onerror" not in answer.text.replace("onerror=alert(1)&gt;", "")
    assert "default-src 'none'" in answer.headers["content-security-policy"]


@settings(BOUNDED, max_examples=60)
@given(
    st.binary(max_size=60)
    | st.sampled_from(
        [b"key=" + b"a" * 100_000, b"key=%00&next=%0d%0aX:%20y", b"key=%ff", b"&" * 50_000, b"=", b"key=ss_a_b&key=c"]
    ),
    st.sampled_from(
        [
            "application/x-www-form-urlencoded",
            "multipart/form-data",
            "multipart/form-data; boundary=x",
            "application/json",
            "text/plain",
            "",
        ]
    ),
)
def test_odd_forms_sign_nobody_in(inside: Inside, body: bytes, media: str) -> None:
    answer = inside.ask("POST", "/login", content=body, headers={"Content-Type": media, "Authorization": ""})
    assert 400 <= answer.status_code < 500 or answer.status_code == 200, answer.text
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize("to", ["//elsewhere", "https://elsewhere", "/\\elsewhere", "\r\nX: y", "javascript:0"])
def test_signing_in_leads_nowhere_else(inside: Inside, to: str) -> None:
    answer = inside.ask("POST", "/login", data={"key": inside.key, "next": to})
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/")
    assert "elsewhere" not in answer.headers["location"]
