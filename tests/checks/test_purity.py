"""The core stays pure: its imports are few, and it neither opens files nor keeps global state."""

import ast
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "core" / "stillset_core"
LIBRARIES = {"numpy", "scipy", "pandas", "pydantic", "pydantic_core", "numba", "typing_extensions", "stillset_core"}
HARMLESS = {
    "__future__", "abc", "bisect", "collections", "contextlib", "copy", "dataclasses", "datetime", "enum", "functools",
    "hashlib", "importlib", "itertools", "json", "math", "operator", "re", "statistics", "string", "struct", "types",
    "typing", "warnings",
}  # fmt: skip
FORBIDDEN_CALLS = {"open", "print", "input", "exec", "eval", "compile", "__import__"}
MODULES = sorted(CORE.rglob("*.py"))


def faults_of(source: str) -> list[str]:
    """Everything in a module that a pure module would not hold."""
    faults: list[str] = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                roots = [alias.name.split(".")[0] for alias in names]
            case ast.ImportFrom(module=module):
                roots = [(module or "").split(".")[0]]
            case ast.Call(func=ast.Name(id=name)) if name in FORBIDDEN_CALLS:
                faults.append(f"line {node.lineno}: calls {name}()")
                continue
            case ast.Global():
                faults.append(f"line {node.lineno}: global state")
                continue
            case _:
                continue
        faults += [f"line {node.lineno}: imports {root}" for root in roots if root not in LIBRARIES | HARMLESS]
    return faults


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(CORE)))
def test_a_core_module_is_pure(module: Path) -> None:
    assert faults_of(module.read_text()) == []


@pytest.mark.parametrize(
    "source", ["import os", "from time import sleep", "open('x')", "def f():\n    global a\n    a = 1"]
)
def test_impurity_is_seen(source: str) -> None:
    assert faults_of(source)
