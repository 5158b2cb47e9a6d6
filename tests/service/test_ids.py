"""UUIDs of version 7 (RFC 9562, section 5.7)."""

import threading
import uuid
from datetime import UTC, datetime

from stillset_service import clock, ids


def test_an_id_is_a_uuid_of_version_7_and_its_variant() -> None:
    made = uuid.UUID(ids.new_id())
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert str(made) == str(made).lower()


def test_an_id_begins_with_the_millisecond_of_its_making() -> None:
    before = clock.microseconds(clock.now()) // 1000
    stamp = uuid.UUID(ids.new_id()).int >> 80
    after = clock.microseconds(clock.now()) // 1000
    # Many ids in one millisecond may run a little ahead of the clock.
    assert before <= stamp <= after + 10


def test_the_layout_is_that_of_the_example_of_the_rfc(monkeypatch) -> None:
    # RFC 9562, appendix A.6 (from memory): 2022-02-22T19:22:22.00Z is 017F22E2-79B0-7CC3-98C4-DC0C0C07398F.
    rfc = uuid.UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
    monkeypatch.setattr(ids._SEQUENCE, "next", lambda: (0x017F22E279B0, 0xCC3))
    monkeypatch.setattr(ids.os, "urandom", (0x18C4DC0C0C07398F).to_bytes)
    assert ids.new_id() == str(rfc)


def test_ids_grow_in_every_thread() -> None:
    made: list[list[str]] = [[] for _ in range(4)]

    def make(into: list[str]) -> None:
        into.extend(ids.new_id() for _ in range(5000))

    threads = [threading.Thread(target=make, args=(into,)) for into in made]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert all(each == sorted(each) for each in made)
    assert len({one for each in made for one in each}) == 20_000


def test_ids_grow_even_when_the_clock_runs_backwards(monkeypatch) -> None:
    sequence = ids._Sequence()
    times = iter([5_000_000_000, 4_000_000_000, 4_000_000_000])
    monkeypatch.setattr(ids.time, "time_ns", lambda: next(times))
    first, second, third = (sequence.next() for _ in range(3))
    assert first < second < third
    assert first[0] == second[0] == 5000


def test_a_full_counter_borrows_from_the_next_millisecond(monkeypatch) -> None:
    sequence = ids._Sequence()
    monkeypatch.setattr(ids.time, "time_ns", lambda: 5_000_000_000)
    made = [sequence.next() for _ in range(5000)]
    assert made == sorted(set(made))
    assert made[-1][0] == 5001


def test_instants_are_kept_to_the_microsecond() -> None:
    moment = datetime(2026, 9, 14, 15, 32, 5, 123456, tzinfo=UTC)
    assert clock.instant(clock.microseconds(moment)) == moment
    assert clock.spelled(clock.microseconds(moment)) == "2026-09-14T15:32:05.123456Z"
    early = datetime(1990, 1, 1, tzinfo=UTC)
    assert clock.instant(clock.microseconds(early)) == early
