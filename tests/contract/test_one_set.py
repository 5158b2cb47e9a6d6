"""`POST /v1/sets`: answers, retries, refusals, to the letter of the API contract."""

import json

import httpx
import pytest
from outsider import Club, Server, a_set, pointers, rep

EXAMPLE = {
    "client_ref": "0b6f3f9e-5a7c-4f63-9a07-3c1d0a7a9a11",
    "athlete": "MB-07",
    "performed_at": "2026-09-14T17:32:05+02:00",
    "session_ref": "2026-09-14-evening",
    "purpose": "training",
    "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34, "foot_mark": "C"},
    "instrument": {"kind": "fixed-frame", "serial": "A-113", "zeroed": True, "checked_on": "2026-08-30"},
    "unit": "N",
    "intended_percent": 100,
    "rpe": 9,
    "reps": [
        {
            "direction": "squeeze",
            "hold_s": 5.1,
            "left": {"peak": 312, "mean": 287},
            "right": {"peak": 298, "mean": 271},
            "started_s": 0.0,
        },
        {
            "direction": "spread",
            "hold_s": 2.1,
            "left": {"peak": 265, "mean": 240},
            "right": {"peak": 270, "mean": 247},
            "started_s": 9.5,
            "intended_percent": 100,
        },
    ],
    "pain": {"score": 1, "site": "left groin"},
    "body_mass_kg": 78.4,
    "note": "after ball session",
}


def test_the_example_of_the_contract_gets_the_answer_of_the_contract(club: Club) -> None:
    club.athlete("MB-07")
    answer = club.post(EXAMPLE)
    squeeze, spread = answer["standings"]
    assert squeeze["direction"] == "squeeze"
    assert squeeze["standing"] == "counts"
    assert squeeze["reasons"] == []
    assert [(c["rule"], c["seen"], c["needed"]) for c in squeeze["cautions"]] == [("pain-during-set", 1, 1)]
    reading = squeeze["reading"]
    assert (reading["left"], reading["right"], reading["unit"], reading["maximal_reps"]) == (312.0, 298.0, "N", 1)
    assert reading["adjusted_left"] == pytest.approx(322.7, abs=0.05)
    assert reading["adjusted_right"] == pytest.approx(308.3, abs=0.05)
    assert spread["standing"] == "set_aside"
    assert [(r["rule"], r["seen"], r["needed"], r["text"]) for r in spread["reasons"]] == [
        ("hold-too-short", 2.1, 3.0, "Held 2.1 s; the protocol needs at least 3.0 s.")
    ]
    assert spread["reading"] is None
    assert answer["load"]["reps"] == 2
    assert answer["load"]["hold_s"] == pytest.approx(7.2)
    assert answer["load"]["impulse_n_s"] == pytest.approx(5.1 * (287 + 271) + 2.1 * (240 + 247))
    assert (answer["client_ref"], answer["athlete"]) == (EXAMPLE["client_ref"], "MB-07")
    assert answer["performed_at"] == "2026-09-14T17:32:05+02:00"
    assert answer["id"][14] == "7"  # RFC 9562: the version digit of a UUIDv7


def test_a_retry_answers_200_with_the_first_answer_even_after_the_standings_changed(club: Club) -> None:
    ref = club.athlete()
    document = a_set(ref)
    first = club.post(document)
    club.protocol(min_hold_s=7)
    assert club.post(document, 200) == first
    now = club.api.get(f"/v1/sets/{first['id']}").json()
    assert now["standings"][0]["standing"] == "set_aside"


def test_same_content_in_other_words_is_the_same_set(club: Club) -> None:
    ref = club.athlete()
    athlete_id = club.api.get(f"/v1/athletes/{ref}").json()["id"]
    document = a_set(ref, unit="[lbf_av]", reps=[rep(left=70.0, right=71)])
    first = club.post(document)
    other = document | {
        "unit": "lbf",
        "athlete": athlete_id,
        "performed_at": "2026-09-14T15:32:05Z",
        "purpose": "training",
        "note": None,
        "pain": None,
        "reps": [rep(left={"peak": 70, "mean": None}, right=71.0)],
    }
    assert club.post(dict(reversed(other.items())), 200) == first


def test_other_content_is_a_conflict_naming_exactly_what_differs(club: Club) -> None:
    ref = club.athlete()
    document = a_set(ref, rpe=8)
    club.post(document)
    changed = document | {"rpe": 9, "position": {"name": "supine-bent-knee", "knee_angle_deg": 55}, "note": "new"}
    problem = club.post(changed, 409)
    assert sorted(pointers(problem)) == ["/note", "/position/knee_angle_deg", "/rpe"]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"client_ref": ""}, "/client_ref"),
        ({"client_ref": "x" * 65}, "/client_ref"),
        ({"client_ref": ...}, "/client_ref"),
        ({"performed_at": "2026-09-14T17:32:05"}, "/performed_at"),
        ({"performed_at": "2026-09-14 17:32:05+02:00"}, "/performed_at"),
        ({"performed_at": "2026-09-14T17:32+02:00"}, "/performed_at"),
        ({"performed_at": "2026-09-14T17:32:05+0200"}, "/performed_at"),
        ({"performed_at": "1700000000"}, "/performed_at"),
        ({"performed_at": 0}, "/performed_at"),
        ({"performed_at": "1989-12-31T23:59:59Z"}, "/performed_at"),
        ({"performed_at": "2199-01-01T00:00:00Z"}, "/performed_at"),
        ({"purpose": "exam"}, "/purpose"),
        ({"position": {"name": "Supine"}}, "/position/name"),
        ({"position": {"name": "supine", "knee_angle_deg": 150.1}}, "/position/knee_angle_deg"),
        ({"position": {"name": "supine", "bar_height": 1000.5}}, "/position/bar_height"),
        ({"position": {"name": "supine", "foot_mark": ""}}, "/position/foot_mark"),
        ({"position": {"name": "supine", "knee_angle": 60}}, "/position/knee_angle"),
        ({"instrument": {"kind": "magic"}}, "/instrument/kind"),
        ({"instrument": {"kind": "other", "zeroed": "yes"}}, "/instrument/zeroed"),
        ({"instrument": {"kind": "other", "checked_on": "2026-02-30"}}, "/instrument/checked_on"),
        ({"unit": "stone"}, "/unit"),
        ({"unit": ...}, "/unit"),
        ({"intended_percent": 120.5}, "/intended_percent"),
        ({"intended_percent": "100"}, "/intended_percent"),
        ({"intended_percent": True}, "/intended_percent"),
        ({"rpe": 11}, "/rpe"),
        ({"reps": []}, "/reps"),
        ({"reps": ...}, "/reps"),
        ({"reps": [rep()] * 61}, "/reps"),
        ({"reps": [rep(direction="push")]}, "/reps/0/direction"),
        ({"reps": [rep(hold_s=0)]}, "/reps/0/hold_s"),
        ({"reps": [rep(hold_s=600.5)]}, "/reps/0/hold_s"),
        ({"reps": [rep(), rep(left={"peak": 0})]}, "/reps/1/left/peak"),
        ({"reps": [rep(left={"peak": -3})]}, "/reps/0/left/peak"),
        ({"reps": [rep(left={"peak": 300, "mean": 301})]}, "/reps/0/left/mean"),
        ({"reps": [rep(left={"mean": 300})]}, "/reps/0/left/peak"),
        ({"reps": [rep(started_s=86401)]}, "/reps/0/started_s"),
        ({"pain": {"score": 11}}, "/pain/score"),
        ({"pain": {"score": 1, "when": "later"}}, "/pain/when"),
        ({"body_mass_kg": 19}, "/body_mass_kg"),
        ({"note": "x" * 2001}, "/note"),
        ({"nots": "x"}, "/nots"),
        ({"a/b~c": 1}, "/a~1b~0c"),
        ({"note": "\x00"}, "/note"),
    ],
)
def test_a_wrong_member_is_named(api: httpx.Client, changes: dict[str, object], pointer: str) -> None:
    answer = api.post("/v1/sets", json=a_set("anyone", **changes))
    assert answer.status_code == 422, answer.text
    assert answer.headers["content-type"].startswith("application/problem+json")
    problem = answer.json()
    assert problem["status"] == 422
    assert pointer in pointers(problem), problem
    assert all(set(error) >= {"pointer", "code", "detail"} for error in problem["errors"])


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b"[]",
        b"null",
        b'"text"',
        b'{"client_ref": "a", "client_ref": "b"}',
        b'{"position": {"name": "a", "name": "a"}}',
        b'{"rpe": NaN}',
        b'{"rpe": Infinity}',
        b'{"rpe": 1e999}',
        b'{"rpe": ' + b"9" * 400 + b"}",
        b"[" * 100_000,
        b'{"a":' * 50_000 + b"1" + b"}" * 50_000,
    ],
)
def test_a_body_that_is_no_sound_json_object_is_422_at_the_root(api: httpx.Client, body: bytes) -> None:
    answer = api.post("/v1/sets", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422, answer.text
    assert pointers(answer.json()) == [""]


def test_a_set_names_its_athlete(api: httpx.Client) -> None:
    document = a_set("anyone")
    del document["athlete"]
    answer = api.post("/v1/sets", json=document)
    assert answer.status_code == 422
    assert pointers(answer.json()) == ["/athlete"]


def test_both_reps_and_trace_are_refused(api: httpx.Client) -> None:
    trace = {"rate_hz": 50, "left": [0.0] * 60}
    assert api.post("/v1/sets", json=a_set(trace=trace)).status_code == 422


def test_a_lone_surrogate_is_refused(api: httpx.Client) -> None:
    body = json.dumps(a_set(note="SURROGATE")).replace("SURROGATE", "\\ud800")
    answer = api.post("/v1/sets", content=body.encode(), headers={"Content-Type": "application/json"})
    assert answer.status_code == 422


def test_an_unknown_athlete_is_named_by_its_code(api: httpx.Client) -> None:
    answer = api.post("/v1/sets", json=a_set("nobody-of-that-name"))
    assert answer.status_code == 422
    problem = answer.json()
    assert problem["code"] == "unknown-athlete"
    assert [(e["pointer"], e["code"]) for e in problem["errors"]] == [("/athlete", "unknown-athlete")]


def test_a_wrong_content_type_is_415_and_an_unknown_encoding_too(api: httpx.Client) -> None:
    body = json.dumps(a_set()).encode()
    assert api.post("/v1/sets", content=body, headers={"Content-Type": "text/plain"}).status_code == 415
    headers = {"Content-Type": "application/json", "Content-Encoding": "br"}
    assert api.post("/v1/sets", content=body, headers=headers).status_code == 415


def test_an_oversized_body_is_413(api: httpx.Client) -> None:
    headers = {"Content-Type": "application/json"}
    body = json.dumps(a_set(note="x" * 100)).encode()[:-1] + b" " * (4 * 2**20) + b"}"
    answer = api.post("/v1/sets", content=body, headers=headers)
    assert answer.status_code == 413
    assert answer.headers["content-type"].startswith("application/problem+json")


@pytest.mark.parametrize("query", ["dry_run=maybe", "dryrun=true", "dry_run=true&x=1"])
def test_unknown_or_unclear_query_parameters_are_422(api: httpx.Client, query: str) -> None:
    answer = api.post(f"/v1/sets?{query}", json=a_set())
    assert answer.status_code == 422
    assert any("parameter" in error for error in answer.json()["errors"])


def test_a_dry_run_answers_like_the_real_request_and_stores_nothing(club: Club) -> None:
    ref = club.athlete()
    document = a_set(ref)
    dry = club.api.post("/v1/sets?dry_run=true", json=document)
    assert dry.status_code == 200
    assert dry.json()["id"] is None
    assert club.api.get(f"/v1/athletes/{ref}/sets").json()["items"] == []
    real = club.post(document)
    assert {**dry.json(), "id": real["id"]} == real
    assert club.api.post("/v1/sets?dry_run=true", json=document).json() == real
    assert club.api.post("/v1/sets?dry_run=true", json=document | {"rpe": 1}).status_code == 409


def test_a_set_reads_back_verbatim(club: Club) -> None:
    ref = club.athlete()
    document = a_set(
        ref, unit="lbf", reps=[rep(left={"peak": 70.25, "mean": 60}, right=71)], note="ünïcode 🙂 e\u0301", rpe=7
    )
    made = club.post(document)
    for row in (
        club.api.get(f"/v1/sets/{made['id']}").json(),
        club.api.get(f"/v1/athletes/{ref}/sets").json()["items"][0],
    ):
        assert {name: row[name] for name in document} == document
        assert row["status"] == "active"
        assert row["id"] == made["id"]
        assert row["standings"] == made["standings"]
        assert row["load"] == made["load"]
        assert row["received_at"]


def test_amending_keeps_the_id_and_rejudges(club: Club) -> None:
    ref = club.athlete()
    document = a_set(ref, reps=[rep(hold_s=2)])
    made = club.post(document)
    amend = f"/v1/sets/{made['id']}/amend"
    changes = {"reps": [rep(hold_s=5)], "note": "typed the wrong hold"}
    answer = club.api.post(amend, json={"reason": "wrong hold", "changes": changes})
    assert answer.status_code == 200, answer.text
    assert answer.json()["id"] == made["id"]
    assert answer.json()["standings"][0]["standing"] == "counts"
    assert club.api.get(f"/v1/sets/{made['id']}").json()["status"] == "amended"
    assert club.post(document, 200) == made
    assert club.post(document | changes, 409)
    assert club.api.post(amend, json={"reason": "again", "changes": changes}).status_code == 422
    assert club.api.post(amend, json={"reason": "", "changes": {"rpe": 1}}).status_code == 422
    assert club.api.post(amend, json={"reason": "x", "changes": {"client_ref": "other"}}).status_code == 422
    wrong = club.api.post(amend, json={"reason": "x", "changes": {"rpe": 99}})
    assert wrong.status_code == 422
    withdraw = f"/v1/sets/{made['id']}/withdraw"
    assert club.api.post(withdraw, json={"reason": "not this athlete"}).status_code == 200
    assert club.api.post(withdraw, json={"reason": "not this athlete"}).status_code == 200
    assert club.api.post(amend, json={"reason": "x", "changes": {"rpe": 1}}).status_code == 409
    assert club.post(document, 200) == made
    assert club.api.get(f"/v1/athletes/{ref}/readings").json()["items"] == []
    rows = club.api.get(f"/v1/athletes/{ref}/sets").json()["items"]
    assert [row["status"] for row in rows] == ["withdrawn"]


def test_scopes_and_clubs_are_kept_apart(server: Server, club: Club) -> None:
    ref = club.athlete()
    made = club.post(a_set(ref))
    with server.client(None) as nobody:
        answer = nobody.get(f"/v1/sets/{made['id']}")
        assert answer.status_code == 401
        assert answer.headers["www-authenticate"].startswith("Bearer")
        assert nobody.post("/v1/sets", json=a_set(ref)).status_code == 401
    with server.client("wrong") as nobody:
        assert nobody.get(f"/v1/athletes/{ref}/trend").status_code == 401
    with server.client(server.key("read", club="elsewhere")) as stranger:
        assert stranger.get(f"/v1/sets/{made['id']}").status_code == 404
        assert stranger.get(f"/v1/athletes/{ref}/trend").status_code == 404
        assert stranger.post("/v1/sets", json=a_set(ref)).status_code == 403
        assert stranger.put("/v1/protocol", json={}).status_code == 403
    with server.client(server.key("sets:write", club="elsewhere")) as writer:
        assert writer.get("/v1/athletes").status_code == 403
        assert writer.post("/v1/sets", json=a_set(ref)).status_code == 422


def test_unknown_addresses_and_methods_are_problems(api: httpx.Client) -> None:
    for answer, status in (
        (api.get("/v1/nothing"), 404),
        (api.delete("/v1/sets"), 405),
        (api.get("/v1/sets/00000000-0000-7000-8000-000000000000"), 404),
    ):
        assert answer.status_code == status
        assert answer.headers["content-type"].startswith("application/problem+json")
        assert answer.json()["status"] == status
