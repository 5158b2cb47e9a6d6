"""Squads, athletes, standard positions, periods: what is on file in a club."""

import json

import pytest

JSON = {"Content-Type": "application/json"}


def test_an_athlete_is_put_on_file_read_listed_and_changed(club) -> None:
    club.post("/v1/squads", {"ref": "first", "name": "First team"}, 201)
    facts = {
        "ref": "MB-07",
        "name": "Odd Wing",
        "squad": "first",
        "role": "wing",
        "dominant_side": "left",
        "sex": "female",
        "born": "2001-02-03",
        "archived": False,
    }
    made = club.post("/v1/athletes", facts, 201)
    assert made == {"id": made["id"], **facts}
    assert club.get("/v1/athletes/MB-07") == club.get(f"/v1/athletes/{made['id']}") == made
    assert club.items("/v1/athletes") == [made]
    changed = club.send("PATCH", "/v1/athletes/MB-07", json={"role": None, "archived": True, "ref": "MB-07"})
    assert changed.status_code == 200
    assert changed.json() == made | {"role": None, "archived": True}
    assert club.get("/v1/athletes/MB-07") == changed.json()


def test_an_athlete_needs_a_ref_only(club) -> None:
    made = club.post("/v1/athletes", {"ref": "x"}, 201)
    assert {name for name, value in made.items() if value is None} == {
        "name",
        "squad",
        "role",
        "dominant_side",
        "sex",
        "born",
    }


def test_a_ref_that_exists_is_a_conflict(club, pointers) -> None:
    for path in ("/v1/athletes", "/v1/squads"):
        club.post(path, {"ref": "x"}, 201)
        problem = club.post(path, {"ref": "x"}, 409)
        assert pointers(problem) == ["/ref"]
        club.post(path, {"ref": "X"}, 201)


@pytest.mark.parametrize("ref", ["", "a" * 65, "a b", "a/b", "å", "a\n", None, 7, ["a"]])
@pytest.mark.parametrize("path", ["/v1/athletes", "/v1/squads"])
def test_a_ref_has_its_pattern(club, pointers, path, ref) -> None:
    assert pointers(club.post(path, {"ref": ref}, 422)) == ["/ref"]


@pytest.mark.parametrize("ref", ["a", "A-b_c.9", "." * 64])
def test_refs_of_the_pattern_are_taken(club, ref) -> None:
    assert club.post("/v1/athletes", {"ref": ref}, 201)["ref"] == ref


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"squad": "nowhere"}, "/squad"),
        ({"dominant_side": "both"}, "/dominant_side"),
        ({"sex": 1}, "/sex"),
        ({"born": "2001-2-3"}, "/born"),
        ({"born": "2001-02-30"}, "/born"),
        ({"born": 0}, "/born"),
        ({"born": "2001-02-03T00:00:00Z"}, "/born"),
        ({"archived": "yes"}, "/archived"),
        ({"archived": 1}, "/archived"),
        ({"name": ""}, "/name"),
        ({"name": "\ud800"}, "/name"),
        ({"position": "wing"}, "/position"),
    ],
)
def test_what_is_wrong_about_an_athlete_is_named(club, pointers, changes, pointer) -> None:
    body = json.dumps({"ref": "x"} | changes)
    answer = club.send("POST", "/v1/athletes", content=body, headers=JSON)
    assert answer.status_code == 422
    assert pointers(answer.json()) == [pointer]
    club.post("/v1/athletes", {"ref": "x"}, 201)
    answer = club.send("PATCH", "/v1/athletes/x", content=json.dumps(changes), headers=JSON)
    assert answer.status_code == 422
    assert pointers(answer.json()) == [pointer]


def test_an_unknown_squad_is_named_by_its_code(club) -> None:
    assert club.post("/v1/athletes", {"ref": "x", "squad": "nowhere"}, 422)["code"] == "unknown-squad"


@pytest.mark.parametrize("path", ["/v1/athletes", "/v1/squads"])
def test_a_ref_cannot_change(club, pointers, path) -> None:
    club.post(path, {"ref": "x"}, 201)
    answer = club.send("PATCH", f"{path}/x", json={"ref": "y"})
    assert answer.status_code == 422
    assert pointers(answer.json()) == ["/ref"]


def test_squads_are_made_read_listed_and_renamed(club) -> None:
    made = club.post("/v1/squads", {"ref": "u20", "name": "Under twenty"}, 201)
    assert set(made) == {"id", "ref", "name"}
    assert club.get("/v1/squads/u20") == made
    assert club.items("/v1/squads") == [made]
    renamed = club.send("PATCH", "/v1/squads/u20", json={"name": "Twenties"}).json()
    assert renamed == made | {"name": "Twenties"}
    assert club.get("/v1/squads/u20") == renamed


def test_lists_come_in_pages_by_ref(club) -> None:
    for ref in ("c", "a", "B", "b"):
        club.post("/v1/athletes", {"ref": ref}, 201)
    seen, address = [], "/v1/athletes?limit=3"
    while address:
        answer = club.send("GET", address)
        seen += [row["ref"] for row in answer.json()["items"]]
        address = answer.links.get("next", {}).get("url")
    assert seen == ["B", "a", "b", "c"]


@pytest.mark.parametrize("query", ["limit=0", "limit=1001", "limit=x", "cursor=nonsense", "what=1"])
@pytest.mark.parametrize("path", ["athletes", "squads", "keys", "audit", "protocol/versions"])
def test_lists_refuse_unclear_queries(club, pointers, path, query) -> None:
    problem = club.get(f"/v1/{path}?{query}", 422)
    assert pointers(problem) == [f"?{query.partition('=')[0]}"]


def test_another_clubs_things_are_not_there(club, service) -> None:
    club.athlete("MB-07")
    club.post("/v1/squads", {"ref": "first"}, 201)
    period = club.post("/v1/athletes/MB-07/periods", {"kind": "break", "from": "2026-01-01"}, 201)
    other = service.club()
    for path in ("/v1/athletes/MB-07", "/v1/squads/first", "/v1/athletes/MB-07/standard-position"):
        other.get(path, 404)
    assert other.items("/v1/athletes") == other.items("/v1/squads") == other.items("/v1/audit") == []
    other.post("/v1/athletes", {"ref": "mine", "squad": "first"}, 422)
    other.put("/v1/athletes/MB-07/standard-position", {}, 422)
    entry = {"position": {"name": "x"}, "instrument_kind": "other", "valid_from": "2026-01-01"}
    other.put("/v1/athletes/MB-07/standard-position", entry, 404)
    assert other.send("DELETE", "/v1/athletes/MB-07").status_code == 404
    assert other.send("PATCH", "/v1/athletes/MB-07", json={"name": "x"}).status_code == 404
    assert other.send("DELETE", f"/v1/athletes/MB-07/periods/{period['id']}").status_code == 404
    other.get("/v1/athletes/MB-07/export", 404)
    assert club.get("/v1/athletes/MB-07")["name"] == "Odd MB-07"
    service.runner.run(other.client.aclose())


def test_standard_positions_are_listed_and_one_of_the_same_date_is_replaced(club) -> None:
    club.athlete(position=False)
    entry = {
        "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34, "foot_mark": "C"},
        "instrument_kind": "fixed-frame",
        "measured_by": "goniometer",
        "valid_from": "2026-02-01",
    }
    path = "/v1/athletes/MB-07/standard-position"
    answer = club.put(path, entry)
    assert {name: answer[name] for name in entry} == entry
    club.put(path, entry | {"valid_from": "2026-01-01", "measured_by": None})
    club.put(path, entry | {"position": {"name": "supine-bent-knee", "knee_angle_deg": 45}})
    rows = club.items(path)
    assert [(row["valid_from"], row["position"].get("knee_angle_deg")) for row in rows] == [
        ("2026-01-01", 60),
        ("2026-02-01", 45),
    ]
    assert [row["measured_by"] for row in rows] == [None, "goniometer"]


def test_every_position_put_judges_again_and_is_noted(club, make_set) -> None:
    club.athlete(position=False)
    made = club.post_set(make_set())
    assert made["standings"][0]["reasons"][0]["rule"] == "no-standard-position"
    club.position()
    assert club.get(f"/v1/sets/{made['id']}")["standings"][0]["standing"] == "counts"
    club.position(position={"name": "supine-bent-knee", "knee_angle_deg": 45})
    assert club.get(f"/v1/sets/{made['id']}")["standings"][0]["reasons"][0]["rule"] == "knee-angle-off"
    assert [row["action"] for row in club.items("/v1/audit")].count("standard-position.put") == 2


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"position": None}, "/position"),
        ({"position": {}}, "/position/name"),
        ({"position": {"name": "Supine"}}, "/position/name"),
        ({"position": {"name": "x", "knee_angle_deg": 151}}, "/position/knee_angle_deg"),
        ({"position": {"name": "x", "knee_angle_deg": "60"}}, "/position/knee_angle_deg"),
        ({"position": {"name": "x", "knee_angle_deg": True}}, "/position/knee_angle_deg"),
        ({"position": {"name": "x", "bar_height": 1000.5}}, "/position/bar_height"),
        ({"position": {"name": "x", "foot_mark": ""}}, "/position/foot_mark"),
        ({"position": {"name": "x", "what": 1}}, "/position/what"),
        ({"instrument_kind": "magic"}, "/instrument_kind"),
        ({"valid_from": "soon"}, "/valid_from"),
        ({"valid_from": None}, "/valid_from"),
        ({"measured_by": 7}, "/measured_by"),
    ],
)
def test_what_is_wrong_about_a_position_is_named(club, pointers, changes, pointer) -> None:
    club.athlete(position=False)
    entry = {"position": {"name": "x"}, "instrument_kind": "other", "valid_from": "2026-01-01"} | changes
    problem = club.put("/v1/athletes/MB-07/standard-position", entry, 422)
    assert pointers(problem) == [pointer]


def test_periods_are_marked_listed_and_removed(club, pointers) -> None:
    club.athlete()
    path = "/v1/athletes/MB-07/periods"
    body = {"kind": "injury", "from": "2026-03-01", "to": "2026-03-20", "note": "left groin"}
    made = club.post(path, body, 201)
    assert made == {"id": made["id"], **body}
    still_open = club.post(path, {"kind": "rehabilitation", "from": "2026-02-21"}, 201)
    assert still_open["to"] is None
    assert club.items(path) == [still_open, made]
    assert club.items(f"{path}?to=2026-02-25") == [still_open]
    assert club.items(f"{path}?from=2026-03-21") == [still_open]
    for wrong, pointer in (
        ({"kind": "holiday"}, "/kind"),
        ({"from": "March"}, "/from"),
        ({"to": "2026-02-28"}, "/to"),
        ({"note": "x" * 2001}, "/note"),
        ({"until": "2026-04-01"}, "/until"),
    ):
        assert pointers(club.post(path, body | wrong, 422)) == [pointer]
    assert club.send("DELETE", f"{path}/{made['id']}").status_code == 204
    assert club.send("DELETE", f"{path}/{made['id']}").status_code == 404
    assert club.items(path) == [still_open]


@pytest.mark.parametrize("path", ["/v1/athletes", "/v1/squads", "/v1/keys", "/v1/athletes/MB-07/periods"])
@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (b"", ""),
        (b"[]", ""),
        (b"{", ""),
        (b"\xff{}", ""),
        (b'{"ref": NaN}', ""),
        (b'{"ref": "a", "ref": "b"}', ""),
        (b'{"ref": 1e999}', ""),
        (b"[" * 100_000, ""),
        (b'{"ref": "\\u0000"}', "/ref"),
    ],
)
def test_malformed_bodies_are_refused_like_malformed_sets(club, pointers, path, body, pointer) -> None:
    answer = club.send("POST", path, content=body, headers=JSON)
    assert answer.status_code == 422
    assert pointers(answer.json()) == [pointer]


def test_bodies_of_other_routes_are_bounded_and_typed(club) -> None:
    headers = {"Content-Type": "text/plain"}
    assert club.send("POST", "/v1/athletes", content=b"{}", headers=headers).status_code == 415
    assert club.send("POST", "/v1/athletes", content=b" " * (2**20 + 1), headers=JSON).status_code == 413


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("POST", "/v1/athletes"),
        ("GET", "/v1/athletes/MB-07"),
        ("DELETE", "/v1/athletes/MB-07"),
        ("PUT", "/v1/athletes/MB-07/standard-position"),
        ("POST", "/v1/keys"),
        ("GET", "/v1/protocol"),
        ("GET", "/v1/sets/x"),
        ("POST", "/v1/sets/x/amend"),
    ],
)
def test_unknown_query_parameters_are_refused_everywhere(club, pointers, method, path) -> None:
    answer = club.send(method, f"{path}?what=1", json={} if method in {"POST", "PUT"} else None)
    assert answer.status_code == 422
    assert pointers(answer.json()) == ["?what"]


def test_who_changed_what_and_when_is_on_record(club, service) -> None:
    club.athlete()
    club.put("/v1/protocol", {"min_hold_s": 4})
    rows = club.items("/v1/audit")
    assert [row["action"] for row in rows] == ["athlete.make", "standard-position.put", "protocol.put"]
    assert {row["key"] for row in rows} == {club.key.split("_")[1]}
    assert all(row["at"].endswith("Z") for row in rows)
