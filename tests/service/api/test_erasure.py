"""Export and erasure: everything on record on request, and afterwards nothing that tells who it was."""

from pathlib import Path

from stillset_service.store.engine import fetch

TABLES = ["athlete", "stored_set", "set_version", "standard_position", "period", "attention_answer", "audit", "club"]
TABLES += ["squad", "api_key"]


def everything_stored(service) -> str:
    with service.store.read() as connection:
        rows = [row for table in TABLES for row in fetch(connection, f"SELECT * FROM {table}")]
    return repr([bytes(cell) if isinstance(cell, memoryview) else cell for row in rows for cell in row])


def filled(club, make_set) -> list[dict[str, object]]:
    """Fill a club with everything that can be on record of an athlete, each with a word that betrays them."""
    club.athlete("Betray-1", role="Betray-2")
    club.athlete("Other")
    club.send("PATCH", "/v1/athletes/Betray-1", json={"name": "Betray-3"})
    club.position("Betray-1", measured_by="Betray-4")
    club.post("/v1/athletes/Betray-1/periods", {"kind": "injury", "from": "2026-01-01", "note": "Betray-5"}, 201)
    explained = {"athlete": "Betray-1", "rule": "no-reading-lately", "answer": "explained", "text": "Betray-10"}
    club.post("/v1/attention/answers", explained, 201)
    made = [club.post_set(make_set("Betray-1", client_ref=f"c-{n}", note=f"Betray-6-{n}")) for n in range(3)]
    amend = {"reason": "Betray-7", "changes": {"note": "Betray-8"}}
    club.post(f"/v1/sets/{made[0]['id']}/amend", amend, 200)
    club.post(f"/v1/sets/{made[1]['id']}/withdraw", {"reason": "Betray-9"}, 200)
    return made


def test_an_export_holds_everything_on_record(club, make_set) -> None:
    filled(club, make_set)
    exported = club.get("/v1/athletes/Betray-1/export")
    for number in range(1, 11):
        assert f"Betray-{number}" in str(exported)
    assert exported["athlete"]["ref"] == "Betray-1"
    assert [one["status"] for one in exported["sets"]] == ["amended", "withdrawn", "active"]
    assert len(exported["standard_positions"]) == 1
    assert len(exported["periods"]) == 1
    assert len(exported["attention_answers"]) == 1


def test_erasure_leaves_nothing_of_the_athlete_and_frees_ref_and_client_refs(own_club, own_service, make_set) -> None:
    club, service = own_club, own_service
    made = filled(club, make_set)
    kept = club.post_set(make_set("Other", client_ref="c-kept"))
    athlete_id = club.get("/v1/athletes/Betray-1")["id"]
    answer = club.send("DELETE", "/v1/athletes/Betray-1")
    assert (answer.status_code, answer.content) == (204, b"")
    for path in ("", "/sets", "/trend", "/export", "/standard-position"):
        club.get(f"/v1/athletes/Betray-1{path}", 404)
    club.get(f"/v1/sets/{made[0]['id']}", 404)
    stored = everything_stored(service)
    assert "Betray" not in stored
    assert athlete_id not in stored
    assert not any(one["id"] in stored for one in made)
    assert club.items("/v1/athletes/Other/sets")[0]["id"] == kept["id"]
    assert club.items("/v1/audit")[-1]["action"] == "athlete.erase"
    assert club.send("DELETE", "/v1/athletes/Betray-1").status_code == 404
    club.athlete("Betray-1")
    assert club.post_set(make_set("Betray-1", client_ref="c-0"))["id"] != made[0]["id"]
    assert club.items("/v1/audit")[-1]["action"] == "standard-position.put"


def test_a_set_that_was_given_to_another_forgets_who_was_named_first(own_club, own_service, make_set) -> None:
    club, service = own_club, own_service
    club.athlete("Betray-1")
    club.athlete("Middle")
    club.athlete("Other")
    made = club.post_set(make_set("Middle", client_ref="c-0"))
    for name in ("Betray-1", "Other"):
        club.post(f"/v1/sets/{made['id']}/amend", {"reason": "whose", "changes": {"athlete": name}}, 200)
    first_betrayed = club.post_set(make_set("Betray-1", client_ref="c-1"))
    amend = {"reason": "whose", "changes": {"athlete": "Other", "note": "right now"}}
    club.post(f"/v1/sets/{first_betrayed['id']}/amend", amend, 200)
    assert club.send("DELETE", "/v1/athletes/Betray-1").status_code == 204
    assert "Betray" not in everything_stored(service)
    rows = {row["id"]: row for row in club.items("/v1/athletes/Other/sets")}
    assert set(rows) == {made["id"], first_betrayed["id"]}
    current = {
        name: value
        for name, value in rows[first_betrayed["id"]].items()
        if name not in {"id", "standings", "load", "status", "received_at"}
    }
    again = club.post_set(current, 200)
    assert (again["id"], again["athlete"]) == (first_betrayed["id"], "Other")


def test_erasure_leaves_nothing_in_the_files_of_sqlite(sqlite_club, make_set) -> None:
    club = sqlite_club
    filled(club, make_set)
    folder = Path(club.service.settings.database_url.removeprefix("sqlite:///")).parent
    assert any(b"Betray-6" in file.read_bytes() for file in folder.iterdir())
    club.send("DELETE", "/v1/athletes/Betray-1")
    assert not any(b"Betray" in file.read_bytes() for file in folder.iterdir())
