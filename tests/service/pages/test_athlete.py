"""The athlete's page for histories that the demo season does not have."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from stillset_service.auth.keys import create_key
from stillset_service.auth.scopes import Scope

FIRST = datetime.now(UTC).replace(hour=8, minute=0, second=0, microsecond=0) - timedelta(days=40)
PLACE = {"name": "supine-bent-knee", "knee_angle_deg": 60}


class Club:
    """A club whose athlete A logs sets when told."""

    def __init__(self, visitor, key):
        self.visitor = visitor
        self.headers = {"Authorization": f"Bearer {key}"}

    def ask(self, method, path, **options):
        answer = self.visitor.send(method, path, headers=self.headers, **options)
        assert answer.is_success, answer.text
        return answer

    def stand(self, kind="fixed-frame", valid_from="2020-01-01", place=PLACE):
        standard = {"position": place, "instrument_kind": kind, "valid_from": valid_from}
        self.ask("PUT", "/v1/athletes/A/standard-position", json=standard)

    def log(self, number, *, kind="fixed-frame", unit="N", peak=300, day=None):
        sides = {"left": {"peak": peak}, "right": {"peak": peak}}
        document = {
            "client_ref": f"{kind}-{number}",
            "athlete": "A",
            "performed_at": (FIRST + timedelta(days=number if day is None else day)).isoformat(),
            "position": PLACE,
            "instrument": {"kind": kind},
            "unit": unit,
            "intended_percent": 100,
            "reps": [{"direction": direction, "hold_s": 5, **sides} for direction in ("squeeze", "spread")],
        }
        return self.ask("POST", "/v1/sets", json=document).json()["id"]

    def page(self, query=""):
        return self.ask("GET", f"/athletes/A{query}").text


@pytest.fixture
def club(visitor, new_key):
    found = Club(visitor, new_key(*Scope))
    found.ask("POST", "/v1/athletes", json={"ref": "A", "name": "Athlete A"})
    return found


def series_links(text):
    return re.findall(r'<ul class="choose" aria-label="Series">.*?</ul>', text, re.DOTALL)


def test_pressure_is_shown_in_kilopascals(club):
    club.stand("pressure-cuff")
    for number in range(8):
        club.log(number, kind="pressure-cuff", unit="mm[Hg]", peak=150)
    text = club.page()
    assert re.search(r"\d\d\.\d kPa", text)
    assert "Squeeze, kPa" in text
    assert not re.search(r"\d Pa\b", text)


def test_a_change_of_instrument_makes_a_second_series_to_choose(club):
    club.stand("hand-held")
    for number in range(4):
        club.log(number, kind="hand-held", peak=200)
    assert not series_links(club.page())
    club.stand("fixed-frame", valid_from=(FIRST + timedelta(days=10)).date().isoformat())
    for number in range(11, 15):
        club.log(number)
    newest, older = club.page(), club.page("?series=1")
    assert len(series_links(newest)) == 1
    assert "fixed frame. 8 counting readings" in newest
    assert "hand held. 8 counting readings" in older


@pytest.mark.parametrize(
    "query", ["?series=7", "?series=-1", "?page=0", "?page=99999999", "?standing=odd", "?span=x", "?set=x"]
)
def test_an_unknown_choice_falls_back_to_the_usual_page(club, query):
    club.stand()
    club.log(1)
    assert "1 set, newest first" in club.page(query)


def test_a_withdrawn_set_stays_in_the_ledger_struck_out_and_nowhere_else(club):
    club.stand()
    kept, withdrawn = club.log(1), club.log(2, peak=500)
    club.ask("POST", f"/v1/sets/{withdrawn}/withdraw", json={"reason": "wrong athlete"})
    text = club.page()
    assert kept != withdrawn
    assert text.count('class="gone"') == 1
    assert "withdrawn" in text
    assert "2 counting readings" in text
    assert not re.search(r'"value":5\d\d\.', text)


def test_sets_of_an_athlete_without_a_standard_position_say_what_is_missing(club):
    club.log(1)
    text = club.page()
    assert "PUT /v1/athletes/A/standard-position" in text
    assert "set aside" in text


def test_a_page_shows_a_write_that_was_acknowledged_just_before(club):
    club.stand()
    club.log(1)
    assert "2 counting readings" in club.page()
    club.log(2)
    assert "4 counting readings" in club.page()


def test_an_archived_athlete_leaves_the_board_and_keeps_the_page(club):
    club.stand()
    club.log(1)
    club.ask("PATCH", "/v1/athletes/A", json={"archived": True})
    assert "Athlete A" not in club.ask("GET", "/").text
    assert "archived" in club.page()


def test_the_ledger_opens_on_the_page_that_has_a_set(club):
    club.stand()
    for number in range(45):
        club.log(number, day=number / 2)
    first = re.findall(r'id="(set-[0-9a-f]{12})"', club.page("?page=2"))[-1]
    assert f'id="{first}"' not in club.page()
    assert f'id="{first}"' in club.page(f"?set={first}")


def test_the_picture_of_another_club_is_not_given(club, visitor):
    club.stand()
    club.log(1)
    foreign = create_key(visitor.app.state.store, "elsewhere", "x", (Scope.READ,))
    headers = {"Authorization": f"Bearer {foreign}"}
    assert visitor.get("/athletes/A/chart.svg", headers=headers).status_code == 404
    assert visitor.get("/athletes/A", headers=headers).status_code == 404
    assert visitor.get("/athletes/A/chart.svg").status_code == 401
