"""Keys: what each scope opens, what is kept of a key, and that a revoked one opens nothing."""

import pytest

from stillset_service.auth.scopes import Scope
from stillset_service.store.engine import fetch

READ, WRITE, MANAGE = Scope.READ, Scope.WRITE, Scope.MANAGE
REQUESTS = [
    ("POST", "/v1/sets", WRITE),
    ("POST", "/v1/sets/batch", WRITE),
    ("POST", "/v1/sets/x/amend", WRITE),
    ("POST", "/v1/sets/x/withdraw", WRITE),
    ("GET", "/v1/sets/x", READ),
    ("GET", "/v1/athletes", READ),
    ("GET", "/v1/athletes/x", READ),
    ("GET", "/v1/athletes/x/sets", READ),
    ("GET", "/v1/athletes/x/trend", READ),
    ("GET", "/v1/athletes/x/export", READ),
    ("GET", "/v1/athletes/x/periods", READ),
    ("GET", "/v1/athletes/x/standard-position", READ),
    ("GET", "/v1/squads", READ),
    ("GET", "/v1/squads/x/board", READ),
    ("GET", "/v1/protocol", READ),
    ("GET", "/v1/protocol/versions", READ),
    ("GET", "/v1/keys", READ),
    ("GET", "/v1/audit", READ),
    ("POST", "/v1/athletes", MANAGE),
    ("PATCH", "/v1/athletes/x", MANAGE),
    ("DELETE", "/v1/athletes/x", MANAGE),
    ("PUT", "/v1/athletes/x/standard-position", MANAGE),
    ("POST", "/v1/athletes/x/periods", MANAGE),
    ("DELETE", "/v1/athletes/x/periods/y", MANAGE),
    ("POST", "/v1/squads", MANAGE),
    ("PATCH", "/v1/squads/x", MANAGE),
    ("PUT", "/v1/protocol", MANAGE),
    ("PUT", "/v1/protocol?preview=true", MANAGE),
    ("POST", "/v1/keys", MANAGE),
    ("DELETE", "/v1/keys/x", MANAGE),
]


def send(club, method: str, path: str):
    return club.send(method, path, **({"json": {}} if method in {"POST", "PUT", "PATCH"} else {}))


@pytest.mark.parametrize(("method", "path", "needed"), REQUESTS)
def test_each_route_asks_for_a_key_and_its_own_scope(club, service, method, path, needed) -> None:
    with_it = club.with_scopes(needed)
    without = club.with_scopes(*(scope for scope in Scope if scope is not needed))
    assert send(with_it, method, path).status_code not in {401, 403}
    refused = send(without, method, path)
    assert refused.status_code == 403
    assert refused.json()["code"] == "missing-scope"
    service.runner.run(with_it.client.aclose())
    service.runner.run(without.client.aclose())


@pytest.mark.parametrize(
    "header",
    [
        None,
        "",
        "Bearer",
        "Bearer ",
        "Bearer wrong",
        "Bearer ss_",
        "Bearer ss__",
        "Bearer ss_abc_def",
        "Bearer ss_å_é",
        "Basic {key}",
        "{key}",
        "Bearer {key}x",
        "Bearer x{key}",
    ],
)
@pytest.mark.parametrize(("method", "path"), [("POST", "/v1/sets"), ("GET", "/v1/athletes"), ("PUT", "/v1/protocol")])
def test_anything_but_a_valid_key_is_401(club, service, method, path, header) -> None:
    headers = {} if header is None else {"Authorization": header.format(key=club.key).encode()}
    stranger = service.client(None)
    answer = service.runner.run(stranger.request(method, path, headers=headers))
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"].startswith("Bearer")
    assert answer.headers["content-type"] == "application/problem+json"
    service.runner.run(stranger.aclose())


def test_the_scheme_is_read_in_any_case(club, service) -> None:
    stranger = service.client(None)
    headers = {"Authorization": f"bearer  {club.key}"}
    assert service.runner.run(stranger.get("/v1/athletes", headers=headers)).status_code == 200
    service.runner.run(stranger.aclose())


def test_a_key_is_made_shown_once_listed_and_revoked(club, service, pointers) -> None:
    made = club.post("/v1/keys", {"name": "tablet", "scopes": ["read"]}, 201)
    (row,) = [row for row in club.items("/v1/keys") if row["id"] == made["id"]]
    assert (row["name"], row["scopes"], row["revoked_at"]) == ("tablet", ["read"], None)
    assert made["key"] not in str(club.items("/v1/keys")) + str(club.items("/v1/audit"))
    tablet = service.client(made["key"])
    assert service.runner.run(tablet.get("/v1/athletes")).status_code == 200
    assert club.send("DELETE", f"/v1/keys/{made['id']}").status_code == 204
    assert service.runner.run(tablet.get("/v1/athletes")).status_code == 401
    assert club.send("DELETE", f"/v1/keys/{made['id']}").status_code == 404
    (row,) = [row for row in club.items("/v1/keys") if row["id"] == made["id"]]
    assert row["revoked_at"] is not None
    for body, pointer in (
        ({"name": "x"}, "/scopes"),
        ({"name": "x", "scopes": []}, "/scopes"),
        ({"name": "x", "scopes": ["all"]}, "/scopes/0"),
        ({"scopes": ["read"]}, "/name"),
    ):
        assert pointers(club.post("/v1/keys", body, 422)) == [pointer]
    service.runner.run(tablet.aclose())


def test_another_club_cannot_revoke_a_key(club, service) -> None:
    other = service.club()
    assert other.send("DELETE", f"/v1/keys/{club.key.split('_')[1]}").status_code == 404
    assert club.send("GET", "/v1/athletes").status_code == 200
    service.runner.run(other.client.aclose())


def test_the_secret_of_a_key_is_not_in_the_store(club, service) -> None:
    _, key_id, secret = club.key.split("_", 2)
    with service.store.read() as connection:
        (row,) = fetch(connection, "SELECT * FROM api_key WHERE id = ?", (key_id,))
    assert len(secret) == 43
    assert secret not in repr(row)
    assert secret.encode() not in b"".join(bytes(cell) for cell in row if isinstance(cell, bytes | memoryview))
