"""Keys: how they are made, spelled, kept and verified.

A key is ``ss_<id>_<secret>`` with 256 random bits of secret. The store keeps the SHA-256 of the
secret only; there is nothing to guess, so no slow hash is needed. A verified key is trusted for
``key_cache_s`` seconds without asking the store again, and not a moment after it was revoked in
this process.
"""

import hashlib
import hmac
import secrets
import threading
import time
from collections.abc import Iterable

from sqlalchemy import Connection

from stillset_service.auth.scopes import Access, Scope
from stillset_service.ids import new_id
from stillset_service.store import clubs, keys
from stillset_service.store.engine import Store

__all__ = ["DEFAULT_CLUB", "Keyring", "create_key", "new_key"]

DEFAULT_CLUB = "club"
"""Slug of the club that a fresh service starts with."""
_CACHED_KEYS = 10_000


def new_key(connection: Connection, club_id: str, name: str, scopes: Iterable[Scope]) -> tuple[str, str]:
    """Store a new key of a club; give its id, and the key itself, which is never seen again."""
    key_id, secret = new_id(), secrets.token_urlsafe(32)
    ordered = [scope for scope in Scope if scope in set(scopes)]
    keys.add(connection, club_id, keys.NewKey(key_id, name, " ".join(ordered), _digest(secret)))
    return key_id, f"ss_{key_id}_{secret}"


def create_key(
    store: Store, club_slug: str, name: str, scopes: Iterable[Scope], *, club_name: str | None = None
) -> str:
    """Make a key for a club, and the club if it is not there, or rename it; give the key."""
    with store.write() as connection:
        club_id = clubs.ensure(connection, club_slug)
        if club_name is not None:
            clubs.rename(connection, club_id, club_name)
        return new_key(connection, club_id, name, scopes)[1]


class Keyring:
    """Verifies keys against the store, remembering what it has verified for a short while."""

    def __init__(self, store: Store, cache_s: float) -> None:
        self._store = store
        self._cache_s = cache_s
        self._verified: dict[str, tuple[Access, float]] = {}
        self._lock = threading.Lock()

    def remembered(self, token: str) -> Access | None:
        """Give the access of a key verified a moment ago, without I/O."""
        found = self._verified.get(token)
        return found[0] if found is not None and found[1] > time.monotonic() else None

    def access(self, token: str) -> Access | None:
        """Verify a key; None for one that is malformed, unknown or revoked."""
        access = self.remembered(token)
        if access is not None:
            return access
        key_id, secret = _parts(token)
        started = time.monotonic()
        with self._store.read() as connection:
            found = keys.active(connection, key_id)
        if found is None or not hmac.compare_digest(found.secret_sha256, _digest(secret)):
            return None
        access = Access(found.club_id, found.id, frozenset(Scope(scope) for scope in found.scopes.split()))
        with self._lock:
            if len(self._verified) >= _CACHED_KEYS:
                self._verified.clear()
            self._verified[token] = (access, started + self._cache_s)
        return access

    def forget(self) -> None:
        """Trust nothing from memory any more; called after a revocation."""
        with self._lock:
            self._verified.clear()


def _parts(token: str) -> tuple[str, str]:
    """Split a key into id and secret; both empty where it has another shape."""
    prefix, _, rest = token.partition("_")
    key_id, _, secret = rest.partition("_")
    digits = key_id.replace("-", "")
    return (key_id, secret) if prefix == "ss" and digits.isalnum() and digits.isascii() else ("", "")


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()
