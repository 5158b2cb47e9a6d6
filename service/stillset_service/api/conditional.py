"""Entity tags and ``If-None-Match``: an unchanged view costs no body (RFC 9110, sections 8.8 and 13.1.2)."""

import hashlib
import re
from collections.abc import Iterable

__all__ = ["entity_tag", "is_current"]

_TAG = re.compile(r'(?:W/)?("[\x21\x23-\x7e\x80-\xff]*")')


def entity_tag(parts: Iterable[object]) -> str:
    """Return a strong entity tag of everything that an answer depends on.

    The parts are what the answer is made *from* (revisions, moment, query, format), not the answer
    itself, so that the tag is known before the answer is computed.
    """
    digest = hashlib.blake2b(digest_size=16)
    for part in parts:
        # Length-prefixed, so that neighbouring parts cannot run into one another.
        text = str(part).encode()
        digest.update(len(text).to_bytes(8, "big") + text)
    return f'"{digest.hexdigest()}"'


def is_current(if_none_match: str | None, tag: str) -> bool:
    """Whether the client's copy is still good, by weak comparison; ``*`` fits whatever is there."""
    if if_none_match is None:
        return False
    return if_none_match.strip() == "*" or tag in _TAG.findall(if_none_match)
