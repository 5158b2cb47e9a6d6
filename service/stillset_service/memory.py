"""A bounded memory of computed values: the least recently used go first."""

import threading
from collections import OrderedDict
from typing import Generic, TypeVar

__all__ = ["Memory"]

Key = TypeVar("Key")
Value = TypeVar("Value")


class Memory(Generic[Key, Value]):
    """Values by key, up to a total weight; safe to use from several threads."""

    def __init__(self, capacity: int) -> None:
        self._capacity = capacity
        self._weight = 0
        self._kept: OrderedDict[Key, tuple[Value, int]] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Key) -> Value | None:
        """Give a value that is still remembered."""
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                return None
            self._kept.move_to_end(key)
            return found[0]

    def put(self, key: Key, value: Value, weight: int = 1) -> None:
        """Remember a value in place of the one before, forgetting others where the whole grows too heavy."""
        with self._lock:
            self._weight += weight - self._kept.pop(key, (None, 0))[1]
            self._kept[key] = (value, weight)
            while self._weight > self._capacity and len(self._kept) > 1:
                self._weight -= self._kept.popitem(last=False)[1][1]

    def forget(self, key: Key) -> None:
        """Remember a value no longer."""
        with self._lock:
            self._weight -= self._kept.pop(key, (None, 0))[1]
