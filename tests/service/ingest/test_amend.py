"""Amending and withdrawing: new facts with an author and a reason; the first content stays what retries are held to."""

import pytest


def amended(club, made, changes, status=200, reason="typed wrongly"):
    return club.post(f"/v1/sets/{made['id']}/amend", {"reason": reason, "changes": changes}, status)


def withdrawn(club, made, status=200, reason="another athlete"):
    return club.post(f"/v1/sets/{made['id']}/withdraw", {"reason": reason}, status)


def test_an_amended_set_keeps_its_id_and_is_judged_again(club, make_set, make_rep) -> None:
    club.athlete()
    made = club.post_set(make_set(reps=[make_rep(hold_s=2)]))
    answer = amended(club, made, {"reps": [make_rep(hold_s=5)], "note": "five, not two"})
    assert answer["id"] == made["id"]
    assert answer["standings"][0]["standing"] == "counts"
    row = club.get(f"/v1/sets/{made['id']}")
    assert (row["status"], row["note"], row["reps"]) == ("amended", "five, not two", [make_rep(hold_s=5)])
    assert row["standings"] == answer["standings"]
    assert row["received_at"]
    assert len(club.items("/v1/athletes/MB-07/readings")) == 1


def test_a_merge_patch_reaches_into_objects_and_null_removes(club, make_set) -> None:
    club.athlete()
    position = {"name": "supine-bent-knee", "knee_angle_deg": 60, "arms": "crossed"}
    made = club.post_set(make_set(position=position, rpe=7))
    amended(club, made, {"position": {"knee_angle_deg": 62, "arms": None}, "rpe": None})
    row = club.get(f"/v1/sets/{made['id']}")
    assert row["position"] == {"name": "supine-bent-knee", "knee_angle_deg": 62}
    assert "rpe" not in row


def test_each_amendment_works_on_the_set_as_it_stands(club, make_set) -> None:
    club.athlete()
    made = club.post_set(make_set())
    amended(club, made, {"rpe": 7})
    amended(club, made, {"note": "late"})
    row = club.get(f"/v1/sets/{made['id']}")
    assert (row["rpe"], row["note"]) == (7, "late")
    (exported,) = club.get("/v1/athletes/MB-07/export")["sets"]
    assert [version["kind"] for version in exported["versions"]] == ["amend", "amend"]
    assert exported["versions"][0]["reason"] == "typed wrongly"
    assert "rpe" not in exported["versions"][0]["document_before"]
    assert exported["versions"][1]["document_before"]["rpe"] == 7


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"client_ref": "another"}, "/changes/client_ref"),
        ({"client_ref": None}, "/changes/client_ref"),
        ({"rpe": 99}, "/changes/rpe"),
        ({"unit": None}, "/changes/unit"),
        ({"reps": [{"direction": "squeeze", "hold_s": 5, "left": {"peak": -1}}]}, "/changes/reps/0/left/peak"),
        ({"what": 1}, "/changes/what"),
        ({"athlete": "nobody"}, "/changes/athlete"),
        ({"note": "\x00"}, "/changes/note"),
        ({}, "/changes"),
        ({"purpose": "training"}, "/changes"),
        ({"performed_at": "2026-09-14T15:32:05Z"}, "/changes"),
        ({"rpe": None}, "/changes"),
    ],
)
def test_what_would_be_no_set_or_no_change_is_refused(club, make_set, pointers, changes, pointer) -> None:
    club.athlete()
    made = club.post_set(make_set())
    assert pointer in pointers(amended(club, made, changes, 422))
    assert club.get(f"/v1/sets/{made['id']}")["status"] == "active"


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"changes": {"rpe": 1}}, "/reason"),
        ({"reason": "", "changes": {"rpe": 1}}, "/reason"),
        ({"reason": "x" * 501, "changes": {"rpe": 1}}, "/reason"),
        ({"reason": 1, "changes": {"rpe": 1}}, "/reason"),
        ({"reason": "x"}, "/changes"),
        ({"reason": "x", "changes": [1]}, "/changes"),
        ({"reason": "x", "changes": None}, "/changes"),
        ({"reason": "x", "changes": {"rpe": 1}, "by": "me"}, "/by"),
    ],
)
def test_an_amendment_needs_a_reason_and_changes(club, make_set, pointers, body, pointer) -> None:
    club.athlete()
    made = club.post_set(make_set())
    assert pointers(club.post(f"/v1/sets/{made['id']}/amend", body, 422)) == [pointer]


def test_a_reason_of_500_characters_is_taken(club, make_set) -> None:
    club.athlete()
    made = club.post_set(make_set())
    amended(club, made, {"rpe": 1}, reason="🙂" * 500)
    withdrawn(club, made, reason="x" * 500)


def test_a_withdrawn_set_stays_in_the_list_of_sets_and_is_nowhere_else(club, make_set, make_rep) -> None:
    club.athlete()
    kept = club.post_set(make_set(performed_at="2026-09-01T10:00:00Z"))
    made = club.post_set(make_set(pain={"score": 4}))
    answer = withdrawn(club, made)
    assert (answer["id"], answer["status"]) == (made["id"], "withdrawn")
    assert withdrawn(club, made) == answer
    assert [row["status"] for row in club.items("/v1/athletes/MB-07/sets")] == ["withdrawn", "active"]
    assert [row["set_id"] for row in club.items("/v1/athletes/MB-07/readings")] == [kept["id"]]
    assert club.items("/v1/athletes/MB-07/pain") == []
    assert [row["reps"] for row in club.items("/v1/athletes/MB-07/load")] == [1]
    assert club.get(f"/v1/sets/{made['id']}")["status"] == "withdrawn"
    assert amended(club, made, {"rpe": 1}, 409)["code"] == "withdrawn"


def test_a_withdrawn_set_tires_nobody(club, make_set, make_rep) -> None:
    club.athlete()
    tiring = club.post_set(make_set(performed_at="2026-09-14T10:00:00Z", reps=[make_rep(hold_s=95)]))
    later = club.post_set(make_set(performed_at="2026-09-14T10:30:00Z"))
    assert later["standings"][0]["standing"] == "set_aside"
    withdrawn(club, tiring)
    assert club.get(f"/v1/sets/{later['id']}")["standings"][0]["standing"] == "counts"


def test_retries_are_held_to_the_first_content_and_revive_or_undo_nothing(club, make_set, pointers) -> None:
    club.athlete()
    document = make_set()
    made = club.post_set(document)
    amended(club, made, {"rpe": 7})
    assert club.post_set(document, 200) == made
    assert pointers(club.post_set(document | {"rpe": 7}, 409)) == ["/rpe"]
    assert club.get(f"/v1/sets/{made['id']}")["rpe"] == 7
    withdrawn(club, made)
    assert club.post_set(document, 200) == made
    assert club.batch([document])["counts"]["seen"] == 1
    assert club.get(f"/v1/sets/{made['id']}")["status"] == "withdrawn"


def test_a_set_can_be_given_to_the_athlete_whose_it_was(club, make_set) -> None:
    club.athlete("A")
    club.athlete("B")
    document = make_set("A")
    made = club.post_set(document)
    assert len(club.items("/v1/athletes/A/readings")) == 1
    answer = amended(club, made, {"athlete": "B"})
    assert answer["athlete"] == "B"
    assert club.items("/v1/athletes/A/sets") == club.items("/v1/athletes/A/readings") == []
    assert [row["set_id"] for row in club.items("/v1/athletes/B/readings")] == [made["id"]]
    assert club.post_set(document, 200) == made
    amended(club, made, {"athlete": "A"})
    assert len(club.items("/v1/athletes/A/readings")) == 1
    assert club.items("/v1/athletes/B/sets") == []


def test_only_sets_of_the_club_can_be_mended(club, service, make_set) -> None:
    club.athlete()
    made = club.post_set(make_set())
    stranger = service.club()
    amended(stranger, made, {"rpe": 1}, 404)
    withdrawn(stranger, made, 404)
    amended(club, {"id": "01890000-0000-7000-8000-000000000000"}, {"rpe": 1}, 404)
    service.runner.run(stranger.client.aclose())
