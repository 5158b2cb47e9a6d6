"""Whether two documents say the same, where they differ, and what an amendment makes of one."""

from collections.abc import Iterator, Mapping
from datetime import UTC
from typing import Final

from stillset_core.document import SetDocument
from stillset_core.errors import DocumentRefused, Fault
from stillset_core.pointers import pointer_to
from stillset_core.rfc3339 import parse_instant
from stillset_core.units import UNITS

__all__ = ["differing_pointers", "merge_patch"]

Json = dict[str, object]
Path = tuple[str | int, ...]

_DEFAULT_PURPOSE: Final = "training"
_DEFAULT_WHEN: Final = "during"


def differing_pointers(first: SetDocument, second: SetDocument, *, same_athlete: bool | None = None) -> tuple[str, ...]:
    """Where two documents differ after validation; empty if they have the same content.

    Key order, 100 against 100.0, a default or null against absence, two spellings of a unit and the same instant in
    another offset are no differences.

    Parameters
    ----------
    first, second : SetDocument
    same_athlete : bool, optional
        Whether both name the same athlete, for a caller who has looked them up (a ref and an id may be one athlete).
        Left out, the two names are compared as text.

    Returns
    -------
    tuple of str
        RFC 6901 pointers to exactly the members that differ, in the order of the first document, then of the second.
        A list of another length, and the samples of a trace, are named as a whole.
    """
    here, there = _content(first), _content(second)
    if same_athlete is not None:
        here["athlete"], there["athlete"] = "", "" if same_athlete else "another"
    return tuple(pointer_to(path) for path in _differences((), here, there))


def merge_patch(target: object, changes: object) -> object:
    """Apply a JSON merge patch; neither argument is changed.

    Raises
    ------
    DocumentRefused
        If the patch is nested too deeply to be followed.

    References
    ----------
    RFC 7396, section 2.

    Examples
    --------
    >>> merge_patch({"a": "b", "c": {"d": 1}}, {"a": None, "c": {"e": 2}})
    {'c': {'d': 1, 'e': 2}}
    """
    try:
        return _merged(target, changes)
    except RecursionError:
        raise DocumentRefused([Fault("", "too-deep", "The changes are nested too deeply to be read.")]) from None


def _merged(target: object, changes: object) -> object:
    if not isinstance(changes, dict):
        return changes
    result: Json = dict(target) if isinstance(target, dict) else {}
    for key, change in changes.items():
        if change is None:
            result.pop(key, None)
        else:
            result[key] = _merged(result.get(key), change)
    return result


def _content(document: SetDocument) -> Json:
    """Bring the members to one spelling for everything that can be said in several ways."""
    content = _without_nulls(document.members)
    content["performed_at"] = parse_instant(document.members["performed_at"]).astimezone(UTC)
    content["unit"] = UNITS[document.members["unit"]].ucum
    content.setdefault("purpose", _DEFAULT_PURPOSE)
    pain = content.get("pain")
    if isinstance(pain, dict):
        pain.setdefault("when", _DEFAULT_WHEN)
    return content


def _without_nulls(members: Mapping[str, object]) -> Json:
    return {key: _stated(value) for key, value in members.items() if value is not None}


def _stated(value: object) -> object:
    if isinstance(value, dict):
        return _without_nulls(value)
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return [_stated(item) for item in value]
    return value


def _differences(path: Path, here: object, there: object) -> Iterator[Path]:
    if here == there:
        return
    if isinstance(here, dict) and isinstance(there, dict):
        for key in [*here, *(key for key in there if key not in here)]:
            if key in here and key in there:
                yield from _differences((*path, key), here[key], there[key])
            else:
                yield (*path, key)
    elif path == ("reps",) and isinstance(here, list) and isinstance(there, list) and len(here) == len(there):
        for place, (one, other) in enumerate(zip(here, there, strict=True)):
            yield from _differences((*path, place), one, other)
    else:
        yield path
