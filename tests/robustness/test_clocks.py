"""Sets that are performed after they came in, as the clocks see it: amended later, or sent by a clock set back."""

from datetime import datetime, timedelta

import pytest
from inside import Inside
from odd import full_set

from stillset_service import clock
from stillset_service.rebuild import everybody, rebuild_athlete

MONDAY = datetime.fromisoformat("2026-09-14T12:00:00+00:00")
VIEWS = ("sets", "readings", "trend", "balance", "load", "pain", "attention", "export")


def _at(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    monkeypatch.setattr(clock, "now", lambda: moment)


def _post(inside: Inside, athlete: str, performed_at: datetime, status: int = 201) -> dict[str, object]:
    document = full_set(client_ref=athlete, athlete=athlete, performed_at=performed_at.isoformat())
    answer = inside.post("/v1/sets", document)
    assert answer.status_code == status, answer.text
    return answer.json()


def test_a_set_amended_to_a_later_day_can_be_amended_withdrawn_and_rebuilt(
    inside: Inside, monkeypatch: pytest.MonkeyPatch
) -> None:
    athlete = inside.athlete("C-1")
    _at(monkeypatch, MONDAY)
    first = _post(inside, athlete, MONDAY)
    later = MONDAY + timedelta(days=10)
    _at(monkeypatch, later)
    for changes in ({"performed_at": later.isoformat()}, {"rpe": 3}, {"note": "on the right day"}):
        body = {"reason": "wrong day", "changes": changes}
        assert inside.post(f"/v1/sets/{first['id']}/amend", body).status_code == 200
    store = inside.app.state.store
    for club_id, facts in everybody(store):
        assert rebuild_athlete(store, club_id, facts, later).changed == 0
    _views_stand(inside, athlete)
    assert _post(inside, athlete, MONDAY, 200) == first
    assert inside.post(f"/v1/sets/{first['id']}/withdraw", {"reason": "after all"}).status_code == 200
    _views_stand(inside, athlete)


def test_a_clock_that_is_set_back_makes_nothing_on_record_unreadable(
    inside: Inside, monkeypatch: pytest.MonkeyPatch
) -> None:
    athlete = inside.athlete("C-2")
    ahead = MONDAY + timedelta(days=400)
    _at(monkeypatch, ahead)
    first = _post(inside, athlete, ahead + timedelta(hours=24))
    _at(monkeypatch, MONDAY)
    _views_stand(inside, athlete)
    assert inside.get(f"/v1/sets/{first['id']}").status_code == 200
    assert inside.post(f"/v1/sets/{first['id']}/withdraw", {"reason": "wrong clock"}).status_code == 200


def _views_stand(inside: Inside, athlete: str) -> None:
    for view in VIEWS:
        answer = inside.get(f"/v1/athletes/{athlete}/{view}")
        assert answer.status_code == 200, (view, answer.text)
    assert inside.get(f"/athletes/{athlete}").status_code == 200
