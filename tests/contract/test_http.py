"""What HTTP itself asks of the service, beyond the tables of the API contract."""

import httpx
import pytest
from outsider import Club, a_set


@pytest.mark.parametrize("accept", ["application/json", "text/csv", "application/vnd.apache.parquet"])
def test_head_answers_like_get_without_the_body(club: Club, accept: str) -> None:
    athlete = club.athlete()
    club.post(a_set(athlete))
    path, headers = f"/v1/athletes/{athlete}/readings?limit=1", {"Accept": accept}
    got, head = (club.api.request(method, path, headers=headers) for method in ("GET", "HEAD"))
    assert (head.status_code, head.content) == (200, b"")
    for name in ("etag", "vary", "content-type", "content-length"):
        assert head.headers[name] == got.headers[name]
    unchanged = club.api.head(path, headers=headers | {"If-None-Match": got.headers["etag"]})
    assert unchanged.status_code == 304


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/metrics", "/openapi.json", "/login", "/v1/protocol"])
def test_head_is_taken_wherever_get_is(api: httpx.Client, path: str) -> None:
    assert api.head(path).status_code == 200


def test_head_needs_the_key_that_get_needs_and_an_address_that_exists(api: httpx.Client) -> None:
    assert httpx.head(f"{api.base_url}/v1/protocol").status_code == 401
    assert api.head("/v1/athletes/nobody").status_code == 404
    assert api.head("/v1/sets").status_code == 405


def test_a_405_names_every_method_that_is_taken(club: Club) -> None:
    athlete = club.athlete()
    for path, allowed in (
        ("/v1/sets", {"POST"}),
        (f"/v1/athletes/{athlete}", {"GET", "HEAD", "PATCH", "DELETE"}),
        (f"/v1/athletes/{athlete}/periods", {"GET", "HEAD", "POST"}),
    ):
        refused = club.api.put(path, json={})
        assert refused.status_code == 405
        assert set(refused.headers["allow"].split(", ")) == allowed


def test_a_fault_of_a_parameter_is_told_in_plain_words(club: Club) -> None:
    (error,) = club.api.get(f"/v1/athletes/{club.athlete()}/sets?from=yesterday").json()["errors"]
    assert error["detail"].startswith("must be an RFC 3339 time")
