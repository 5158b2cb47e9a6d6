"""States derived before anybody asks for them."""

import threading

import pytest

from stillset_core.pipeline import derive_from_judged
from stillset_service import recompute
from stillset_service.warming import kept_warm, warm


@pytest.fixture
def derived(monkeypatch):
    """Give the moments as of which anything was derived, as it happens."""
    moments = []

    def counting(judged, protocol, dominant_side, as_of):
        moments.append(as_of)
        return derive_from_judged(judged, protocol, dominant_side, as_of)

    monkeypatch.setattr(recompute, "derive_from_judged", counting)
    return moments


@pytest.fixture
def squad(own_club):
    own_club.post("/v1/squads", {"ref": "first", "name": "First"}, 201)
    for number in range(3):
        ref = own_club.athlete(f"MB-{number}", squad="first")
        own_club.post_set(
            {
                "client_ref": f"set-{number}",
                "athlete": ref,
                "performed_at": "2026-01-14T17:30:05Z",
                "position": {"name": "supine-bent-knee", "bar_height": 34},
                "instrument": {"kind": "fixed-frame"},
                "unit": "N",
                "intended_percent": 100,
                "reps": [{"direction": "squeeze", "hold_s": 5, "left": {"peak": 300}, "right": {"peak": 290}}],
            }
        )
    return own_club


def test_a_board_asked_for_after_warming_derives_nobody(squad, derived):
    assert warm(squad.service.store, threading.Event()) == 3
    assert len(derived) == 3
    assert len(squad.items("/v1/squads/first/board")) == 3
    assert squad.send("GET", "/").status_code == 200
    assert len(derived) == 3


def test_what_is_posted_after_warming_is_on_the_board(squad, derived):
    warm(squad.service.store, threading.Event())
    squad.post("/v1/athletes/MB-1/periods", {"kind": "break", "from": "2026-01-01", "to": "2026-01-02"}, 201)
    squad.get("/v1/squads/first/board")
    assert len(derived) >= 3
    assert len(squad.items("/v1/squads/first/board")) == 3


def test_one_that_is_stopped_derives_nobody_more(squad, derived):
    stopped = threading.Event()
    stopped.set()
    warm(squad.service.store, stopped)
    assert derived == []


def test_the_thread_ends_with_its_block(own_service):
    with kept_warm(own_service.store):
        assert "warming" in {thread.name for thread in threading.enumerate()}
    assert "warming" not in {thread.name for thread in threading.enumerate()}
