"""Who may see the pages, and what a forged, stale or foreign request gets."""

import pytest

from stillset_service.auth.scopes import Scope
from stillset_service.pages import session
from stillset_service.pages.session import COOKIE
from stillset_service.store import keys

SIGN_IN = "Sign in"


def is_board(answer):
    return answer.status_code == 200 and "No athletes yet" in answer.text


def key_id(key):
    return key.split("_")[1]


def test_the_board_without_a_key_is_a_sign_in_page_with_401(visitor):
    answer = visitor.get("/")
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert SIGN_IN in answer.text


def test_the_bearer_key_of_the_api_opens_the_pages(visitor, new_key):
    assert is_board(visitor.get("/", headers={"Authorization": f"Bearer {new_key()}"}))


def test_a_key_that_may_not_read_opens_nothing(visitor, new_key):
    key = new_key(Scope.WRITE)
    assert visitor.get("/", headers={"Authorization": f"Bearer {key}"}).status_code == 401
    answer = visitor.sign_in(key)
    assert answer.status_code == 401
    assert "may not read" in answer.text
    assert not visitor.client.cookies


def test_signing_in_leaves_a_cookie_that_scripts_and_other_sites_cannot_use(visitor, new_key):
    answer = visitor.sign_in(new_key(), next="/?q=wing")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/?q=wing"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert is_board(visitor.get("/"))


@pytest.mark.parametrize("path", ["//elsewhere.example", "/\\elsewhere.example", "https://elsewhere.example", "x", ""])
def test_signing_in_never_leads_to_another_host(visitor, new_key, path):
    assert visitor.sign_in(new_key(), next=path).headers["location"] == "/"


def test_a_session_ends_when_its_key_is_revoked(visitor, new_key):
    key = new_key()
    visitor.sign_in(key)
    store = visitor.app.state.store
    with store.write() as connection:
        club_id = keys.active(connection, key_id(key)).club_id
        assert keys.revoke(connection, club_id, key_id(key))
    assert visitor.get("/").status_code == 401


def test_a_cookie_with_any_part_altered_is_worthless(visitor, new_key):
    visitor.sign_in(new_key())
    key, end, signature = visitor.client.cookies[COOKIE].split(".")
    other = key_id(new_key())
    forged = [
        f"{key}.{int(end) + 1}.{signature}",
        f"{other}.{end}.{signature}",
        f"{key}.{end}.{signature[:-1]}{'0' if signature[-1] != '0' else '1'}",
        f"{key}.{end}.",
        f"{key}..{signature}",
        "..",
        f"{key}.{'9' * 400}.{signature}",
    ]
    for cookie in forged:
        visitor.client.cookies.clear()
        assert visitor.get("/", headers={"Cookie": f"{COOKIE}={cookie}"}).status_code == 401, cookie


def test_a_session_ends_after_its_time(visitor, new_key, monkeypatch):
    visitor.sign_in(new_key())
    later = session.clock.now() + session.SESSION
    monkeypatch.setattr(session.clock, "now", lambda: later)
    assert visitor.get("/").status_code == 401


def test_a_form_from_another_site_neither_signs_in_nor_out(visitor, new_key):
    elsewhere = {"Origin": "http://elsewhere.example"}
    key = new_key()
    assert visitor.send("POST", "/login", data={"key": key}, headers=elsewhere).status_code == 401
    visitor.sign_in(key)
    visitor.send("POST", "/logout", headers=elsewhere)
    assert is_board(visitor.get("/"))
    visitor.send("POST", "/logout", headers={"Origin": "http://club.example"})
    assert visitor.get("/").status_code == 401


@pytest.mark.parametrize("body", [b"", b"key", b"key=%ff%fe", b"key=a&key", b"\xff\xfe", b"key=" + b"a" * 100_000])
def test_a_garbled_or_huge_form_is_refused_and_not_an_error(visitor, body):
    answer = visitor.send("POST", "/login", content=body, headers={"Content-Type": "application/x-www-form-urlencoded"})
    assert answer.status_code == 401
    assert SIGN_IN in answer.text
