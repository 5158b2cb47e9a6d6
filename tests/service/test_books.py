"""Books follow every write, also of another process, and equal those that are opened from nothing."""

import random

import pytest

from stillset_service import books
from stillset_service.books import open_book, open_books
from stillset_service.settings import Settings


def opened(club, ref="MB-07"):
    with club.service.store.read() as connection:
        club_id = club.service.app.state.keyring.access(club.key).club_id
        return open_book(connection, club_id, ref)


def opened_from_nothing(club, ref="MB-07"):
    books.forget(opened(club, ref).athlete.id)
    return opened(club, ref)


@pytest.fixture
def second(own_service, own_club):
    """Give the same club as a second process sees it, but for the memory of books, which is emptied on each look."""
    made = type(own_service)(Settings(database_url=own_service.settings.database_url, key_cache_s=0))
    other = own_club.__class__(made, own_club.slug, ("sets:write", "read", "manage"))
    yield other
    made.runner.run(other.client.aclose())
    made.close()


def test_a_book_is_ordered_by_time_then_client_ref(club, make_set) -> None:
    club.athlete()
    for ref, day in (("c", 3), ("b", 1), ("a", 3), ("d", 2)):
        club.post_set(make_set(client_ref=ref, performed_at=f"2026-09-0{day}T10:00:00Z"))
    book = opened(club)
    assert [stored.client_ref for stored in book.sets] == ["b", "d", "a", "c"]
    assert [record.client_ref for record in book.active] == ["b", "d", "a", "c"]


def test_a_book_kept_up_to_date_equals_one_opened_from_nothing(club, make_set) -> None:
    refs = ["MB-07", "MB-08"]
    club.athlete("MB-07")
    club.athlete("MB-08")
    draw = random.Random(3)
    made = [club.post_set(make_set(draw.choice(refs)))["id"]]

    def post() -> None:
        day = draw.randrange(1, 28)
        made.append(club.post_set(make_set(draw.choice(refs), performed_at=f"2026-09-{day:02d}T10:00:00Z"))["id"])

    def withdraw() -> None:
        club.send("POST", f"/v1/sets/{draw.choice(made)}/withdraw", json={"reason": "x"})

    def amend() -> None:
        changes = draw.choice([{"athlete": draw.choice(refs)}, {"rpe": draw.randrange(10)}])
        club.send("POST", f"/v1/sets/{draw.choice(made)}/amend", json={"reason": "x", "changes": changes})

    def put_position() -> None:
        club.position("MB-07", f"2026-0{draw.randrange(1, 9)}-01")

    def mark_period() -> None:
        club.post("/v1/athletes/MB-08/periods", {"kind": "break", "from": "2026-01-01"}, 201)

    for act in draw.choices([post, withdraw, amend, put_position, mark_period], weights=[5, 1, 2, 1, 1], k=40):
        act()
        assert [opened(club, ref) for ref in refs] == [opened_from_nothing(club, ref) for ref in refs]


def test_a_write_of_another_process_is_seen_at_once(own_club, second, make_set) -> None:
    own_club.athlete()
    own_club.post_set(make_set(performed_at="2026-09-01T10:00:00Z"))
    kept = opened(own_club)
    made = second.post_set(make_set())
    books._SHELF.put(kept.athlete.id, kept)
    assert len(own_club.items("/v1/athletes/MB-07/sets")) == 2
    books._SHELF.put(kept.athlete.id, kept)
    late = own_club.post_set(make_set(performed_at="2026-09-20T10:00:00Z"))
    assert {stored.id for stored in opened(own_club).sets} >= {made["id"], late["id"]}
    second.post(f"/v1/sets/{made['id']}/withdraw", {"reason": "x"}, 200)
    books._SHELF.put(kept.athlete.id, kept)
    assert len(own_club.items("/v1/athletes/MB-07/readings")) == 2


def test_a_set_that_left_is_not_kept_by_an_older_copy(own_club, second, make_set) -> None:
    for ref in ("A", "B"):
        own_club.athlete(ref)
    made = own_club.post_set(make_set("A"))
    kept = opened(own_club, "A")
    second.post(f"/v1/sets/{made['id']}/amend", {"reason": "x", "changes": {"athlete": "B"}}, 200)
    books._SHELF.put(kept.athlete.id, kept)
    assert own_club.items("/v1/athletes/A/sets") == []
    assert len(own_club.items("/v1/athletes/B/sets")) == 1


def test_the_same_client_ref_from_two_processes_is_stored_once(own_club, second, make_set) -> None:
    own_club.athlete()
    document = make_set()
    first = own_club.post_set(document)
    assert second.post_set(document, 200) == first
    assert second.post_set(document | {"rpe": 1}, 409)


def test_a_key_revoked_by_another_process_opens_nothing(own_club, second) -> None:
    made = second.post("/v1/keys", {"name": "x", "scopes": ["read"]}, 201)
    tablet = own_club.service.client(made["key"])
    assert own_club.service.runner.run(tablet.get("/v1/athletes")).status_code == 200
    assert second.send("DELETE", f"/v1/keys/{made['id']}").status_code == 204
    assert own_club.service.runner.run(tablet.get("/v1/athletes")).status_code == 401
    own_club.service.runner.run(tablet.aclose())


def test_a_write_that_was_rolled_back_leaves_no_mark_on_the_book(own_club, make_set, failing_commits) -> None:
    own_club.athlete()
    with failing_commits(own_club.service.store, ZeroDivisionError()):
        assert own_club.send("POST", "/v1/sets", json=make_set()).status_code == 500
    assert opened(own_club).sets == ()
    own_club.post_set(make_set())
    assert len(opened(own_club).sets) == 1


def test_books_of_a_squad_come_by_ref(club) -> None:
    club.post("/v1/squads", {"ref": "first"}, 201)
    for ref, squad in (("c", "first"), ("a", "first"), ("b", None)):
        club.athlete(ref, squad=squad)
    with club.service.store.read() as connection:
        club_id = club.service.app.state.keyring.access(club.key).club_id
        assert [book.athlete.ref for book in open_books(connection, club_id, "first")] == ["a", "c"]
        assert [book.athlete.ref for book in open_books(connection, club_id)] == ["a", "b", "c"]
