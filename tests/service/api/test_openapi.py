"""The OpenAPI document is true: whatever is made from it, sound or not, gets an answer that it describes."""

import httpx
import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.generation import GenerationMode

ERASE = ("DELETE", "/v1/athletes/{ref}")
SOUND = settings(
    max_examples=250, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
)


def operations(document) -> list[object]:
    found = [result.ok() for result in schemathesis.openapi.from_dict(document).get_all_operations()]
    return [one for one in found if one.path.startswith("/v1/") and (one.method.upper(), one.path) != ERASE]


def sent(club, case, known: dict[str, str]) -> httpx.Response:
    """Send a made request, to things that are there where the path allows it."""
    for name in case.path_parameters or {}:
        case.path_parameters[name] = known.get(name, case.path_parameters[name])
    case.headers = {}
    made = requests.Request(**case.as_transport_kwargs(base_url="http://club.example")).prepare()
    headers = {name: value for name, value in made.headers.items() if name in {"Content-Type", "Accept"}}
    body = made.body.encode() if isinstance(made.body, str) else made.body
    return club.send(made.method, made.url, headers=headers, content=body)


@pytest.mark.parametrize("mode", list(GenerationMode), ids=["sound", "unsound"])
def test_every_request_made_from_the_document_gets_an_answer_of_the_document(sqlite_club, make_set, mode) -> None:
    club = sqlite_club
    club.post("/v1/squads", {"ref": "first"}, 201)
    club.athlete("A-1", squad="first")
    set_id = club.post_set(make_set("A-1"))["id"]
    document = club.get("/openapi.json")
    cases = st.one_of([operation.as_strategy(generation_mode=mode) for operation in operations(document)])
    statuses = set()

    @SOUND
    @given(cases, st.sampled_from([{}, {"ref": "A-1", "set_id": set_id}, {"ref": "first"}]))
    def check(case, known) -> None:
        answer = sent(club, case, known)
        described = document["paths"][case.operation.path][case.operation.method.lower()]["responses"]
        assert str(answer.status_code) in described, (case.operation.label, answer.status_code, answer.text)
        content = described[str(answer.status_code)].get("content", {})
        media = answer.headers.get("content-type", "").partition(";")[0]
        assert media in content or (answer.status_code == 204 and not answer.content), (case.operation.label, media)
        statuses.add(answer.status_code)

    check()
    assert statuses >= ({200, 201, 404} if mode is GenerationMode.POSITIVE else {404, 422})
