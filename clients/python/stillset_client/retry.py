"""When and how long to wait before sending the same request again."""

import random
from collections.abc import Iterator

import httpx

__all__ = ["asked_wait", "may_pass", "waits"]

RETRIED_STATUSES = frozenset({429, 502, 503, 504})


def waits(tries: int, *, first_s: float = 0.5, longest_s: float = 30.0) -> Iterator[float]:
    """Yield the pauses between tries, in seconds: doubling, with full jitter so that clients do not march in step."""
    for turn in range(tries - 1):
        yield random.uniform(0, min(longest_s, first_s * 2**turn))  # noqa: S311 - jitter, not a secret


def may_pass(response: httpx.Response) -> bool:
    """Whether the same request may succeed later."""
    return response.status_code in RETRIED_STATUSES


def asked_wait(response: httpx.Response) -> float | None:
    """Return the seconds of a Retry-After header, if it names seconds."""
    header = response.headers.get("Retry-After", "")
    return float(header) if header.isdigit() else None
