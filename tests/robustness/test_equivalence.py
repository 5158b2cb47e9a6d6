"""However the sets of a season come in, what is read in the end is the same, to the last digit."""

import itertools
import json

from hypothesis import given, settings
from inside import Inside
from odd import BOUNDED
from seasons import ATHLETES, POSITIONS, Document, Season, patch_between, seasons

from stillset_service import books, clock, recompute
from stillset_service.memory import Memory
from stillset_service.rebuild import everybody, rebuild_athlete

VIEWS = ["readings", "trend?history=true", "trend?as_of=2026-09-15", "balance", "load", "pain", "attention", "sets"]
OF_THE_STORE = ("id", "set_id", "received_at", "status", "set")

_clubs = itertools.count(1)


class Club:
    """A club of its own in a running service."""

    def __init__(self, inside: Inside) -> None:
        self._inside = inside
        self._key = inside.key_of(f"club-{next(_clubs)}")
        self.ids: dict[str, str] = {}
        self.first: dict[str, object] = {}
        for ref in ATHLETES:
            self.ask("POST", "/v1/athletes", 201, {"ref": ref, "squad": None, "dominant_side": "left"})

    def ask(self, method: str, path: str, status: int, document: object = None) -> Document:
        answer = self._inside.ask(method, path, json=document, headers=self._key)
        assert answer.status_code == status, answer.text
        return json.loads(answer.content)

    def position(self, place: int) -> None:
        for ref in ATHLETES:
            self.ask("PUT", f"/v1/athletes/{ref}/standard-position", 200, POSITIONS[place])

    def post(self, documents: list[Document]) -> None:
        if len(documents) == 1:
            ref = documents[0]["client_ref"]
            answer = self.ask("POST", "/v1/sets", 200 if ref in self.ids else 201, documents[0])
            assert isinstance(ref, str)
            self._remember(ref, answer["id"])
            # A retry is answered with the first answer, whatever happened since.
            assert self.first.setdefault(ref, answer) == answer
            return
        results = self.ask("POST", "/v1/sets/batch", 200, documents)["results"]
        for document, result in zip(documents, results, strict=True):
            ref = document["client_ref"]
            assert result["outcome"] == ("seen" if ref in self.ids else "stored"), result
            assert isinstance(ref, str)
            self._remember(ref, result["id"])
            # In a batch the standings are those after all of it was taken in.
            now = self.ask("GET", f"/v1/sets/{result['id']}", 200)
            assert result["standings"] == now["standings"]

    def _remember(self, ref: str, set_id: object) -> None:
        assert self.ids.setdefault(ref, str(set_id)) == set_id

    def views(self) -> dict[str, object]:
        seen = {}
        for ref, view in itertools.product(ATHLETES, VIEWS):
            seen[ref, view] = _comparable(self.ask("GET", f"/v1/athletes/{ref}/{view}", 200))
        return seen


def _comparable(value: object) -> object:
    """Leave out ids, times of arrival, and withdrawn sets, which stay in the list of sets and nowhere else."""
    if isinstance(value, dict):
        return {name: _comparable(inner) for name, inner in value.items() if name not in OF_THE_STORE}
    if isinstance(value, list):
        kept = [one for one in value if not (isinstance(one, dict) and one.get("status") == "withdrawn")]
        return [_comparable(one) for one in kept]
    return value


def _in_order(inside: Inside, season: Season) -> dict[str, object]:
    """Read what an undisturbed club reads: positions first, then every set once, in its last content."""
    club = Club(inside)
    for place in range(len(POSITIONS)):
        club.position(place)
    for document in sorted(season.final(), key=lambda document: str(document["client_ref"])):
        club.post([document])
    return club.views()


def _as_it_came(inside: Inside, season: Season) -> tuple[Club, dict[str, object]]:
    club, corrected = Club(inside), dict.fromkeys(range(len(season.stories)), 0)
    for kind, what in season.steps:
        if kind == "position":
            club.position(what)
        elif kind == "look":
            for view in VIEWS:
                club.ask("GET", f"/v1/athletes/{what}/{view}", 200)
        elif kind == "post":
            club.post([season.stories[place].contents[0] for place in what])
        else:
            story, number = season.stories[what], corrected[what]
            set_id = club.ids[str(story.contents[0]["client_ref"])]
            if number + 1 < len(story.contents):
                changes = patch_between(story.contents[number], story.contents[number + 1])
                club.ask("POST", f"/v1/sets/{set_id}/amend", 200, {"reason": "mistyped", "changes": changes})
            else:
                club.ask("POST", f"/v1/sets/{set_id}/withdraw", 200, {"reason": "of somebody else"})
            corrected[what] += 1
    return club, club.views()


def _forget_everything(inside: Inside) -> None:
    """Be a process that has just been started."""
    for _, facts in everybody(inside.app.state.store):
        books.forget(facts.id)
    recompute._JUDGED = Memory(capacity=100_000)
    recompute._STATES = Memory(capacity=100_000)


def _rebuild(inside: Inside) -> int:
    store = inside.app.state.store
    return sum(rebuild_athlete(store, club_id, facts, clock.now()).changed for club_id, facts in everybody(store))


def _holds(inside: Inside, season: Season) -> None:
    expected = _in_order(inside, season)
    club, seen = _as_it_came(inside, season)
    assert seen == expected
    _forget_everything(inside)
    assert club.views() == expected


@settings(BOUNDED, max_examples=40)
@given(seasons())
def test_order_batches_retries_and_corrections_do_not_show_in_what_is_read(inside: Inside, season: Season) -> None:
    _holds(inside, season)


@settings(BOUNDED, max_examples=8)
@given(seasons())
def test_nor_do_they_on_postgresql(inside_postgres: Inside, season: Season) -> None:
    _holds(inside_postgres, season)


@settings(BOUNDED, max_examples=3)
@given(seasons())
def test_a_rebuild_changes_nothing(inside: Inside, season: Season) -> None:
    club, seen = _as_it_came(inside, season)
    assert _rebuild(inside) == 0
    _forget_everything(inside)
    assert club.views() == seen
