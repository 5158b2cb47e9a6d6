"""Every operation of the OpenAPI document, with data that fits its schemas and data that does not."""

from collections.abc import Iterator

import pytest
import schemathesis
from hypothesis import given, settings
from inside import Inside
from odd import BOUNDED, full_set
from schemathesis.checks import CHECKS, load_all_checks
from schemathesis.config import SchemathesisConfig
from schemathesis.generation import GenerationMode

from stillset_service.settings import Settings

load_all_checks()
CHECKED = CHECKS.get_by_names(
    [
        "not_a_server_error",
        "status_code_conformance",
        "content_type_conformance",
        "response_headers_conformance",
        "response_schema_conformance",
        "negative_data_rejection",
        "missing_required_header",
        "unsupported_method",
        "allow_header_conformance",
    ]
)


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Inside]:
    folder = tmp_path_factory.mktemp("openapi")
    with Inside(Settings(database_url=f"sqlite:///{folder / 'openapi.db'}")) as running:
        assert running.post("/v1/squads", {"ref": "first"}).status_code == 201
        running.athlete("A-01")
        assert running.ask("PATCH", "/v1/athletes/A-01", json={"squad": "first"}).status_code == 200
        assert running.post("/v1/sets", full_set()).status_code == 201
        yield running


@pytest.mark.parametrize("mode", list(GenerationMode))
def test_every_operation_answers_as_documented(described: Inside, mode: GenerationMode) -> None:
    config = SchemathesisConfig.from_dict({"generation": {"database": "none", "deterministic": True}})
    schema = schemathesis.openapi.from_asgi("/openapi.json", described.app, config=config)
    operations = [found.ok() for found in schema.get_all_operations()]
    assert len(operations) > 30
    failures = [failure for operation in operations if (failure := _failure_of(operation, described, mode))]
    if failures:
        raise ExceptionGroup("Some operations do not answer as documented.", failures)


def _failure_of(
    operation: schemathesis.schemas.APIOperation, described: Inside, mode: GenerationMode
) -> Exception | None:
    if mode is GenerationMode.NEGATIVE and not (operation.body or operation.query or operation.path_parameters):
        return None  # There is nothing that could be wrong.

    @settings(BOUNDED, max_examples=25)
    @given(operation.as_strategy(generation_mode=mode))
    def answers_as_documented(case: schemathesis.Case) -> None:
        if mode is GenerationMode.POSITIVE:
            _name_what_is_there(case)
        # A batch with bad sets is answered with 200, and each bad set in it with a problem.
        excluded = CHECKS.get_by_names(["negative_data_rejection"]) if case.path == "/v1/sets/batch" else []
        key = {"Authorization": f"Bearer {described.key}"}
        case.call_and_validate(headers=key, checks=CHECKED, excluded_checks=excluded)

    try:
        answers_as_documented()
    except Exception as error:  # noqa: BLE001 (told for all operations together)
        error.add_note(operation.label)
        return error
    return None


def _name_what_is_there(case: schemathesis.Case) -> None:
    """Let made-up refs and times, which fit every schema, be those of somebody on file and of this century."""
    if case.method != "DELETE" and "ref" in case.path_parameters:
        case.path_parameters["ref"] = "first" if "/squads/" in case.path else "A-01"
    for document in case.body if isinstance(case.body, list) else [case.body]:
        if isinstance(document, dict) and "performed_at" in document:
            document |= {"athlete": "A-01", "performed_at": "2026-09-14T17:32:05+02:00"}


def test_a_request_without_a_key_is_refused_by_every_operation_under_v1(described: Inside) -> None:
    document = described.get("/openapi.json").json()
    asked = 0
    for path, operations in document["paths"].items():
        for method in operations:
            headers = {"Authorization": ""}
            answer = described.ask(method.upper(), path.replace("{", "").replace("}", ""), headers=headers)
            assert (answer.status_code == 401) == path.startswith("/v1/"), (method, path, answer.text)
            asked += 1
    assert asked > 30
