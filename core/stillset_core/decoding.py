"""JSON text → value, refusing what the API contract calls malformed.

The exact decoder of this module is Python's own, with hooks; it is three times as slow as the one inside
pydantic, which keeps the last of two equal keys without a word. So documents are read by the fast one first, and
this one is asked only where :func:`is_plain` cannot vouch for the text or where the fast one found a fault.
"""

import json
import math
from collections import Counter
from collections.abc import Iterator
from typing import NoReturn

from stillset_core.errors import DocumentRefused, Fault
from stillset_core.pointers import pointer_to

__all__ = ["decode_json", "is_plain", "text_faults"]

Json = dict[str, object]
_MALFORMED_AT = ""
_LONGEST_FINITE = 309
"""Digits of the largest double; a longer whole number need not be converted to know that it is beyond it."""


def decode_json(body: bytes) -> object:
    """Decode a body, exactly.

    Raises
    ------
    DocumentRefused
        With one fault at pointer ``""``: not UTF-8, no JSON, NaN or Infinity, a number beyond double precision,
        a key given twice in one object, or nesting too deep to read.
    """
    try:
        return _DECODER.decode(body.decode("utf-8"))
    except UnicodeDecodeError as error:
        _refuse("not-utf-8", f"The body is not UTF-8: byte {error.start} cannot be read.")
    except json.JSONDecodeError as error:
        _refuse("not-json", f"The body is not JSON: {error.msg} at line {error.lineno}, column {error.colno}.")
    except RecursionError:
        _refuse("too-deep", "The body is nested too deeply to be read.")


def is_plain(body: bytes, members: int, colons: int = 0) -> bool:
    r"""Whether a body surely gives each key once and holds no U+0000.

    Parameters
    ----------
    body : bytes
        JSON that a decoder which drops repeated keys has accepted.
    members : int
        Members of all objects that it has found.
    colons : int
        Colons that its texts are known to hold, at least.

    Notes
    -----
    Without escapes, a body holds one colon for each key and those of its texts. If there are just as many as
    ``members`` and ``colons`` make, no key is repeated.

    Else: a key ends with a quotation mark, and unless white space stands before a colon somewhere, ``":`` follows
    each. So the count of ``":`` is at least that of the keys, and above ``members`` if one is repeated. It is also
    above where a text holds ``\":`` or begins with a colon: a false answer means unknown, not wrong.
    """
    if b"\\" not in body and body.count(b":") == members + colons:
        return True
    if b"\\u0000" in body or body.count(b'":') != members:
        return False
    return b" :" not in body and b"\n:" not in body and b"\r:" not in body and b"\t:" not in body


def text_faults(value: object) -> Iterator[Fault]:
    """Every text in a decoded value that holds U+0000 or a lone surrogate, keys included."""
    waiting: list[tuple[tuple[str | int, ...], object]] = [((), value)]
    while waiting:
        path, here = waiting.pop()
        if isinstance(here, str):
            if not _is_fit(here):
                yield _unfit_text(path)
        elif isinstance(here, dict):
            if all(_is_fit(key) for key in here):
                waiting.extend(((*path, key), inner) for key, inner in here.items())
            else:
                yield _unfit_text(path)
        elif isinstance(here, list):
            waiting.extend(
                ((*path, place), inner) for place, inner in enumerate(here) if isinstance(inner, str | dict | list)
            )


def _refuse(code: str, detail: str) -> NoReturn:
    raise DocumentRefused([Fault(_MALFORMED_AT, code, detail)]) from None


def _without_twins(pairs: list[tuple[str, object]]) -> Json:
    value = dict(pairs)
    if len(value) != len(pairs):
        twin, _ = Counter(key for key, _ in pairs).most_common(1)[0]
        _refuse("duplicate-key", f"The key {twin!a} is given twice in one object.")
    return value


def _finite(digits: str) -> float:
    number = float(digits)
    if math.isinf(number):
        _refuse("number-too-large", "The body holds a number beyond double precision.")
    return number


def _whole(digits: str) -> int:
    if len(digits) >= _LONGEST_FINITE:
        _finite(digits)
    return int(digits)


def _constant(name: str) -> NoReturn:
    _refuse("not-json", f"The body is not JSON: it holds {name}.")


_DECODER = json.JSONDecoder(
    object_pairs_hook=_without_twins, parse_float=_finite, parse_int=_whole, parse_constant=_constant
)


def _is_fit(text: str) -> bool:
    if "\x00" in text:
        return False
    return text.isascii() or not any("\ud800" <= character <= "\udfff" for character in text)


def _unfit_text(path: tuple[str | int, ...]) -> Fault:
    return Fault(pointer_to(path), "unfit-text", "Text must not hold U+0000 or a lone surrogate.")
