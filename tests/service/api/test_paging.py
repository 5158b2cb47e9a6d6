"""Pages hold still while rows arrive."""

import base64
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.datastructures import URL

from stillset_service.api.paging import CursorError, Key, link_to_next, page_of

rows_with_unique_keys = st.lists(st.tuples(st.integers(0, 6), st.text("ab", min_size=1, max_size=4)), unique=True)


def own_key(row: tuple[int, str]) -> Key:
    return row


@given(first=rows_with_unique_keys, arrivals=st.lists(rows_with_unique_keys, max_size=8), limit=st.integers(1, 4))
def test_a_row_is_given_once_whatever_arrives_in_between(
    first: list[tuple[int, str]], arrivals: list[list[tuple[int, str]]], limit: int
) -> None:
    table = set(first)
    given_rows: list[tuple[int, str]] = []
    cursor = None
    waves = iter(arrivals)
    while True:
        page = page_of(list(table), own_key, view="sets", limit=limit, cursor=cursor)
        given_rows += page.rows
        cursor = page.next_cursor
        if cursor is None:
            break
        table |= set(next(waves, []))
    assert len(given_rows) == len(set(given_rows))
    assert set(first) <= set(given_rows)
    assert given_rows == sorted(given_rows)


def test_a_full_last_page_has_no_next() -> None:
    page = page_of([(1, "a"), (2, "b")], own_key, view="sets", limit=2, cursor=None)
    assert page.next_cursor is None
    assert list(page.rows) == [(1, "a"), (2, "b")]


def test_an_empty_table_is_one_empty_page() -> None:
    page = page_of([], own_key, view="sets", limit=2, cursor=None)
    assert list(page.rows) == []
    assert page.next_cursor is None


def cursor_of(content: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(content).encode()).decode().rstrip("=")


@pytest.mark.parametrize(
    "cursor",
    [
        "",
        "!",
        "abc",
        "é",
        cursor_of(None),
        cursor_of([]),
        cursor_of(["readings", 1, "a"]),
        cursor_of(["sets", "1", "a"]),
        cursor_of(["sets", True, "a"]),
        cursor_of(["sets", 1]),
        cursor_of(["sets", [1], "a"]),
        cursor_of({"sets": 1}),
        base64.urlsafe_b64encode(b"[" * 1200).decode(),
    ],
)
def test_a_cursor_that_the_table_never_gave_is_refused(cursor: str) -> None:
    with pytest.raises(CursorError):
        page_of([(1, "a"), (2, "b")], own_key, view="sets", limit=1, cursor=cursor)


def test_the_next_link_keeps_every_parameter() -> None:
    address = URL(
        "http://club.example/v1/athletes/MB-07/sets?as_of=2026-09-14T00%3A00%3A00%2B02%3A00&limit=5&cursor=old"
    )
    link = link_to_next(address, "new")
    assert link.startswith("<http://club.example/v1/athletes/MB-07/sets?")
    assert link.endswith('>; rel="next"')
    assert "as_of=2026-09-14T00%3A00%3A00%2B02%3A00" in link
    assert "limit=5" in link
    assert "cursor=new" in link
    assert "old" not in link
