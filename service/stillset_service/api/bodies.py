"""Bodies of requests: read within their limits, unpacked, and decoded as strictly as sets are."""

import zlib
from collections.abc import Callable
from typing import Any, TypeVar

from fastapi import Request
from pydantic import BaseModel, ValidationError
from starlette.concurrency import run_in_threadpool

from stillset_core.decoding import decode_json, text_faults
from stillset_core.errors import DocumentRefused, Fault
from stillset_core.faults import faults_of
from stillset_service.api.headers import header_of
from stillset_service.problems import ParameterFault, Problem, TooLarge, Unprocessable, UnsupportedMedia
from stillset_service.settings import Settings

__all__ = ["body_of", "described", "flag", "json_object", "media_type", "read_body", "validated"]

Model = TypeVar("Model", bound=BaseModel)
JSON = "application/json"
_PIECE = 2048
"""Bytes of a compressed body that are unpacked at a time (a choice, no source)."""


async def read_body(request: Request, limit: int) -> bytes:
    """Read a body of at most ``limit`` bytes, before and after decompression."""
    encoding = header_of(request, b"content-encoding").strip().lower()
    if encoding not in {"", "identity", "gzip", "x-gzip"}:
        raise UnsupportedMedia(f"The Content-Encoding {encoding!r} is not taken; gzip is.")
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > limit:
            raise _too_large(limit)
        parts.append(part)
    body = b"".join(parts)
    # Elsewhere, because what unpacks to much keeps a processor busy while others wait.
    return await run_in_threadpool(_unpacked, body, limit) if encoding.endswith("gzip") else body


def media_type(request: Request, taken: tuple[str, ...] = (JSON,)) -> str:
    """Give the media type of a body, which must be one of ``taken``, in UTF-8."""
    stated, _, parameters = header_of(request, b"content-type").partition(";")
    stated = stated.strip().lower()
    if stated not in taken:
        raise UnsupportedMedia(f"The Content-Type must be {' or '.join(taken)}.")
    name, _, charset = parameters.partition("=")
    if name.strip().lower() == "charset" and charset.strip().strip('"').lower() not in {"utf-8", "utf8"}:
        raise UnsupportedMedia("The body must be UTF-8.")
    return stated


def flag(request: Request, name: str) -> bool:
    """Read the one query parameter that a route takes: ``true`` or ``false``, and false where it is absent."""
    if not request.scope["query_string"]:
        return False
    pairs = request.query_params.multi_items()
    unknown = [
        ParameterFault(key, "unknown-parameter", f"{key!r} is no parameter here.") for key, _ in pairs if key != name
    ]
    if unknown:
        raise Unprocessable("The query has unknown parameters.", unknown)
    values = [value for _, value in pairs]
    if values not in (["true"], ["false"]):
        detail = f"{name} must be given once, as true or false."
        raise Unprocessable(detail, [ParameterFault(name, "unclear-value", detail)])
    return values == ["true"]


async def json_object(request: Request, *, with_trace: bool = False) -> dict[str, object]:
    """Read the body of a request as a JSON object, refused as a set is that is no sound JSON."""
    media_type(request)
    settings: Settings = request.app.state.settings
    body = await read_body(request, settings.max_trace_set_bytes if with_trace else settings.max_other_bytes)
    try:
        value = decode_json(body)
    except DocumentRefused as error:
        raise Unprocessable("The body is malformed.", error.faults) from None
    if not isinstance(value, dict):
        raise Unprocessable(
            "The body must be a JSON object.", [Fault("", "not-an-object", "The body must be a JSON object.")]
        )
    faults = list(text_faults(value))
    if faults:
        raise Unprocessable("The body holds unfit text.", faults)
    return value


def body_of(model: type[Model], *, with_trace: bool = False) -> Callable[[Request], object]:
    """Make the dependency that reads the body of a request as a model; one that may hold a trace may be larger."""

    async def dependency(request: Request) -> Model:
        value = await json_object(request, with_trace=with_trace)
        return validated(model, value)

    return dependency


def validated(model: type[Model], value: object) -> Model:
    """Validate a decoded value as a model, or refuse it with every fault."""
    try:
        return model.model_validate(value)
    except ValidationError as error:
        raise Unprocessable("The body has faults.", faults_of(error.errors(include_url=False))) from None


def described(schema: dict[str, Any], media: tuple[str, ...] = (JSON,)) -> dict[str, Any]:
    """Describe the body of a route that reads it by itself, for the OpenAPI document."""
    inlined = _inlined(schema, schema.get("$defs", {}))
    return {"requestBody": {"required": True, "content": {name: {"schema": inlined} for name in media}}}


def _inlined(schema: Any, definitions: dict[str, Any]) -> Any:  # noqa: ANN401 (a JSON Schema has no static type)
    """Write every reference of a schema out, so that it can stand anywhere; none of ours refers to itself."""
    if isinstance(schema, list):
        return [_inlined(part, definitions) for part in schema]
    if not isinstance(schema, dict):
        return schema
    if "$ref" in schema:
        return _inlined(definitions[schema["$ref"].rpartition("/")[2]], definitions)
    return {key: _inlined(part, definitions) for key, part in schema.items() if key != "$defs"}


def _unpacked(packed: bytes, limit: int) -> bytes:
    """Unpack gzip (RFC 1952, several members too), never beyond the limit.

    Piece by piece: a body of very many members is not copied once for each of them.
    """
    unpacked = bytearray()
    member = zlib.decompressobj(wbits=31)
    for start in range(0, len(packed), _PIECE):
        piece = packed[start : start + _PIECE]
        while piece:
            if member.eof:
                member = zlib.decompressobj(wbits=31)
            try:
                unpacked += member.decompress(piece, limit + 1 - len(unpacked))
            except zlib.error as error:
                raise _broken_gzip() from error
            if len(unpacked) > limit:
                raise _too_large(limit)
            piece = member.unused_data
    if not member.eof:
        raise _broken_gzip()
    return bytes(unpacked)


def _broken_gzip() -> Problem:
    detail = "The body is not sound gzip."
    return Unprocessable(detail, [Fault("", "broken-gzip", detail)])


def _too_large(limit: int) -> Problem:
    return TooLarge(f"The body is larger than {limit} bytes.")
