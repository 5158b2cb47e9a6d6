import os
import subprocess
import sys
from collections import namedtuple
from pathlib import Path

import pytest

from stillset_core.records import Direction
from stillset_core.trend import compiled as module
from stillset_core.trend import warm_up

PROBE = """
import stillset_core.trend as trend
trend.warm_up()
from stillset_core.trend.bounds import lower_tail
print(repr(lower_tail(-3.0)))
"""


def digest(source: str, **known: object) -> str:
    scope: dict[str, object] = dict(known)
    exec(source, scope)
    return module._digest(scope["f"])  # type: ignore[arg-type]


def test_the_digest_follows_the_code_of_a_loop() -> None:
    assert digest("def f(x): return x + 1.0") == digest("def f(x): return x + 1.0")
    assert digest("def f(x): return x + 1.0") != digest("def f(x): return x + 2.0")
    assert digest("def f(x): return x + 1.0") != digest("def f(x): return x - 1.0")


def test_the_digest_follows_the_constants_a_loop_reads() -> None:
    source = "def f(x): return x + STEP"
    assert digest(source, STEP=1.0) != digest(source, STEP=2.0)


def test_the_digest_follows_the_order_of_fields_in_the_tuples_a_loop_takes() -> None:
    source = "def f(x: Point): return x.a"
    one, other = (namedtuple("Point", fields) for fields in ("a b", "b a"))
    assert digest(source, Point=one) != digest(source, Point=other)


def test_the_digest_follows_the_compiled_functions_a_loop_calls(monkeypatch: pytest.MonkeyPatch) -> None:
    callee = object()
    source = "def f(x): return callee(x)"
    monkeypatch.setitem(module._DIGESTS, id(callee), "one")
    first = digest(source, callee=callee)
    monkeypatch.setitem(module._DIGESTS, id(callee), "two")
    assert digest(source, callee=callee) != first


def signatures() -> int:
    """Number of signatures for which the loops of the engine are compiled."""
    loops = [value for name, value in sys.modules.items() if name.startswith("stillset_core.trend.")]
    found = {id(loop): loop for scope in loops for loop in vars(scope).values() if hasattr(loop, "nopython_signatures")}
    return sum(len(loop.nopython_signatures) for loop in found.values())


def test_after_warming_up_nothing_is_left_to_compile(log) -> None:
    warm_up()
    ready = signatures()
    for day in range(60):
        log.counts(day).at_least(day + 0.2, direction=Direction.SPREAD)
    assert log.trend(200).calls == ()
    assert signatures() == ready


def answer(**environment: str) -> str:
    run = subprocess.run(
        [sys.executable, "-c", PROBE], env=os.environ | environment, capture_output=True, text=True, check=True
    )
    return run.stdout


def test_compiled_and_interpreted_loops_agree() -> None:
    assert answer() == answer(NUMBA_DISABLE_JIT="1")


def test_an_unwritable_cache_folder_does_no_harm(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def no_folder(**_: object) -> object:
        calls.append("cache" in _)
        if "cache" in _:
            raise RuntimeError("cannot cache function: no locator available")
        return lambda function: function

    calls: list[bool] = []
    monkeypatch.setattr(module, "njit", no_folder)

    def f(x: float) -> float:
        return x + 1.0

    assert module.compiled(f)(1.0) == 2.0
    assert calls == [True, False]
