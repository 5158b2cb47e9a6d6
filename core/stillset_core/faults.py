"""pydantic's errors → faults in the words of the API contract."""

import json
from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Final

from pydantic_core import ErrorDetails

from stillset_core.errors import MAX_FAULTS, Fault
from stillset_core.pointers import pointer_to

__all__ = ["faults_of"]

_CODES: Final[Mapping[str, tuple[str, str]]] = {
    "missing": ("missing", "is required"),
    "extra_forbidden": ("unknown-field", "is no field of this object"),
    "float_type": ("wrong-type", "must be a JSON number"),
    "string_type": ("wrong-type", "must be a string"),
    "bool_type": ("wrong-type", "must be true or false"),
    "list_type": ("wrong-type", "must be a list"),
    "dict_type": ("wrong-type", "must be an object"),
    "finite_number": ("not-finite", "must be a finite number"),
    "greater_than": ("out-of-limits", "must be greater than {gt:g}"),
    "greater_than_equal": ("out-of-limits", "must be at least {ge:g}"),
    "less_than": ("out-of-limits", "must be less than {lt:g}"),
    "less_than_equal": ("out-of-limits", "must be at most {le:g}"),
    "string_too_short": ("too-short", "must have at least {min_length} character(s)"),
    "string_too_long": ("too-long", "must have at most {max_length} characters"),
    "string_pattern_mismatch": ("wrong-format", "must match {pattern}"),
    "literal_error": ("not-one-of", "must be one of {expected}"),
    "too_short": ("too-short", "must have at least {min_length} item(s)"),
    "too_long": ("too-long", "must have at most {max_length} items"),
}
_WITHOUT_SEEN: Final = frozenset({"missing", "extra_forbidden"})
_LONGEST_SEEN: Final = 60
_BITS_OF_LARGEST: Final = 1024


def faults_of(details: Iterable[ErrorDetails]) -> list[Fault]:
    """Every fault of a validation, in the order of the document's fields, at most 100."""
    return [_fault(detail) for detail in islice(details, MAX_FAULTS)]


def _fault(detail: ErrorDetails) -> Fault:
    code, needed = _CODES.get(detail["type"], ("invalid", "is not valid"))
    sentence = f"{_name(detail['loc'])} {needed.format(**detail.get('ctx', {}))}"
    if detail["type"] not in _WITHOUT_SEEN:
        sentence += f"; seen: {_seen(detail['input'])}"
    return Fault(pointer_to(detail["loc"]), code, sentence + ".")


def _name(path: tuple[str | int, ...]) -> str:
    last = path[-1]
    return f"item {last}" if isinstance(last, int) else _cut(last)


def _seen(value: object) -> str:
    """Short JSON of a scalar, and only the kind of anything larger."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, int) and value.bit_length() > _BITS_OF_LARGEST:
        return "a number beyond double precision"
    return _cut(json.dumps(value, ensure_ascii=False))


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_SEEN else text[:_LONGEST_SEEN] + "…"
