"""How the loops of this package are compiled: numba with an on-disk cache that cannot go stale.

Numba keys a cached loop by the file it stands in, so a change of a function that the loop calls in
another file would go unnoticed. Here the name under which a loop is cached carries a digest of its own
code, of the fields of the tuples it takes, of every constant it reads and of every compiled function it
calls.
"""

import hashlib
from collections.abc import Callable
from typing import ParamSpec, TypeVar

from numba import njit

__all__ = ["compiled"]

Arguments = ParamSpec("Arguments")
Answer = TypeVar("Answer")

_DIGESTS: dict[int, str] = {}
"""Digest of each compiled function, by the identity of what stands for it in its module."""


def compiled(function: Callable[Arguments, Answer]) -> Callable[Arguments, Answer]:
    """Compile `function` on its first call, and keep the machine code on disk where that is possible.

    Without a writable cache folder it is compiled anew in every process.
    """
    digest = _digest(function)
    function.__qualname__ = f"{function.__qualname__}-{digest}"
    loop: Callable[Arguments, Answer]
    try:
        loop = njit(cache=True, error_model="numpy")(function)
    except RuntimeError:  # numba found no folder that it may write to
        loop = njit(error_model="numpy")(function)
    _DIGESTS[id(loop)] = digest
    return loop


def _digest(function: Callable[Arguments, Answer]) -> str:
    """Digest of the code, the argument types, the constants and the compiled callees of a function."""
    code = function.__code__
    known = function.__globals__
    parts = [code.co_code.hex(), repr(code.co_consts), repr(code.co_names), repr(code.co_varnames)]
    parts += [repr(getattr(kind, "_fields", kind)) for kind in function.__annotations__.values()]
    for name in code.co_names:
        value = known.get(name)
        if isinstance(value, int | float | str | tuple):
            parts.append(f"{name}={value!r}")
        elif id(value) in _DIGESTS:
            parts.append(f"{name}={_DIGESTS[id(value)]}")
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12]
