"""The session cookie of the pages: signed, short, and dead as soon as its key is revoked.

A cookie is ``<key id>.<end>.<signature>``. The signature is an HMAC under the stored digest of the
key's secret, so no further secret has to be kept, shared between processes or turned over: who
holds the key can sign in, and a revoked key ends its sessions.
"""

import hashlib
import hmac
from datetime import datetime, timedelta

from stillset_service import clock
from stillset_service.auth.scopes import Access, Scope
from stillset_service.store import keys
from stillset_service.store.engine import Store

__all__ = ["COOKIE", "SESSION", "opened", "signed"]

COOKIE = "stillset_session"
SESSION = timedelta(hours=12)
"""A session lasts a working day (a choice, no source)."""


def signed(store: Store, access: Access) -> str | None:
    """Make the cookie of a key that has just been verified; None if it was revoked in between."""
    with store.read() as connection:
        key = keys.active(connection, access.key_id)
    if key is None:
        return None
    end = str(int((clock.now() + SESSION).timestamp()))
    return f"{key.id}.{end}.{_signature(key.secret_sha256, key.id, end)}"


def opened(store: Store, cookie: str) -> Access | None:
    """Give the access that a cookie stands for; None if it is malformed, forged, over or its key revoked."""
    key_id, _, rest = cookie.partition(".")
    end, _, signature = rest.partition(".")
    if not (key_id.isascii() and key_id.isprintable()):
        return None  # A quoted cookie can spell U+0000, which PostgreSQL refuses to look for.
    if not end.isdecimal() or not end.isascii() or len(end) > len("9999999999") or _over(int(end), clock.now()):
        return None
    with store.read() as connection:
        key = keys.active(connection, key_id)
    if key is None:
        return None
    expected = _signature(key.secret_sha256, key.id, end)
    if not hmac.compare_digest(expected.encode(), signature.encode("utf-8", "surrogatepass")):
        return None
    return Access(key.club_id, key.id, frozenset(Scope(scope) for scope in key.scopes.split()))


def _signature(secret: bytes, key_id: str, end: str) -> str:
    return hmac.new(secret, f"{COOKIE}.{key_id}.{end}".encode(), hashlib.sha256).hexdigest()


def _over(end: int, now: datetime) -> bool:
    return now.timestamp() >= end
