"""Ids that the service makes: UUID version 7 (RFC 9562, section 5.7), growing with time.

Within one process every id is larger than the one before it, also within a millisecond: the 12
bits after the version count up (section 6.2, method 1), and the clock never runs backwards.
"""

import os
import threading
import time

__all__ = ["new_id"]

_COUNTER_LIMIT = 0xFFF


class _Sequence:
    """The last (millisecond, counter) given out."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._millisecond = 0
        self._counter = 0

    def next(self) -> tuple[int, int]:
        """Give the next pair, larger than every pair before."""
        millisecond = time.time_ns() // 1_000_000
        with self._lock:
            if millisecond > self._millisecond:
                # Start in the lower half, so that there is room to count up.
                self._millisecond, self._counter = millisecond, int.from_bytes(os.urandom(2)) & 0x7FF
            elif self._counter < _COUNTER_LIMIT:
                self._counter += 1
            else:
                self._millisecond, self._counter = self._millisecond + 1, 0
            return self._millisecond, self._counter


_SEQUENCE = _Sequence()


def new_id() -> str:
    """Make a UUIDv7 in its usual spelling of 36 characters."""
    millisecond, counter = _SEQUENCE.next()
    tail = int.from_bytes(os.urandom(8)) & 0x3FFF_FFFF_FFFF_FFFF
    digits = f"{(millisecond << 80) | (0x7 << 76) | (counter << 64) | (0b10 << 62) | tail:032x}"
    return f"{digits[:8]}-{digits[8:12]}-{digits[12:16]}-{digits[16:20]}-{digits[20:]}"
