"""How times and ids are spelled, wherever they are shown."""

import re

import httpx
from outsider import Club, a_set, rep

UUID7 = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


def test_an_instant_in_utc_is_spelled_alike_in_every_view(club: Club) -> None:
    athlete = club.athlete()
    club.post(a_set(athlete, performed_at="2026-03-01T10:00:00Z", reps=[rep(), rep("spread")]))
    view = f"/v1/athletes/{athlete}"
    (series,) = club.api.get(f"{view}/trend?history=true").json()["series"]
    (balance,) = club.api.get(f"{view}/balance").json()["series"]
    points = series["squeeze"]["left"]["history"]
    spelled = {series["last_reading_at"], balance["last_reading_at"], *(point["at"] for point in points)}
    assert spelled == {"2026-03-01T10:00:00Z"}


def test_a_time_keeps_the_offset_of_its_set(club: Club) -> None:
    athlete = club.athlete()
    club.post(a_set(athlete, performed_at="2026-03-01T10:00:00+02:00"))
    (series,) = club.api.get(f"/v1/athletes/{athlete}/trend").json()["series"]
    assert series["last_reading_at"] == "2026-03-01T10:00:00+02:00"


def test_every_id_that_the_service_makes_is_a_uuid_of_version_7(own_club: Club, api: httpx.Client) -> None:
    club = own_club
    squad = club.api.post("/v1/squads", json={"ref": "first", "name": "First"}).json()
    athlete = club.athlete()
    period = club.api.post(f"/v1/athletes/{athlete}/periods", json={"kind": "break", "from": "2026-03-01"}).json()
    key = club.api.post("/v1/keys", json={"name": "another", "scopes": ["read"]}).json()
    made = [squad, club.api.get(f"/v1/athletes/{athlete}").json(), period, club.post(a_set(athlete)), key]
    made += club.api.get("/v1/keys").json()["items"] + club.api.get("/v1/audit").json()["items"]
    assert [one["id"] for one in made if not UUID7.fullmatch(one["id"])] == []


def test_a_key_works_until_it_is_revoked_by_its_id(own_club: Club) -> None:
    made = own_club.api.post("/v1/keys", json={"name": "another", "scopes": ["read"]}).json()
    other = {"Authorization": f"Bearer {made['key']}"}
    assert own_club.api.get("/v1/protocol", headers=other).status_code == 200
    assert own_club.api.delete(f"/v1/keys/{made['id']}").status_code == 204
    assert own_club.api.get("/v1/protocol", headers=other).status_code == 401
