"""Whoever reads a public function of the computation learns what goes in, what comes out, and when
it refuses."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import weldcal

ROOMS = ("calibration", "physics", "rules")
MODULES = sorted(p for room in ROOMS for p in (Path(weldcal.__file__).parent / room).glob("*.py"))
NOTHING = ("None", "...", "")


def _public(node: ast.AST) -> Iterator[ast.FunctionDef]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.ClassDef) and not child.name.startswith("_"):
            yield from _public(child)
        elif isinstance(child, ast.FunctionDef) and not child.name.startswith("_"):
            yield child


def _lacks(function: ast.FunctionDef) -> list[str]:
    said = ast.get_docstring(function) or ""
    asked = [a.arg for a in (*function.args.args, *function.args.kwonlyargs)]
    asked = [name for name in asked if name not in ("self", "cls")]
    listed = said.partition("Args:")[2].partition("Returns:")[0].partition("Raises:")[0]
    gives = ast.unparse(function.returns) if function.returns else ""
    a_property = any("property" in ast.unparse(one) for one in function.decorator_list)
    found = [name for name in asked if name not in listed]
    if gives not in NOTHING and not a_property and "Returns:" not in said:
        found.append("Returns")
    if any(isinstance(n, ast.Raise) and n.exc for n in ast.walk(function)):
        found += [] if "Raises:" in said else ["Raises"]
    return found if said else ["anything"]


@pytest.mark.parametrize("path", MODULES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_every_argument_result_and_refusal_is_told(path: Path) -> None:
    """Properties in a line; protocols' members as their names say."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    protocols = [n for n in tree.body if isinstance(n, ast.ClassDef) and "Protocol" in ast.dump(n)]
    typed = {f for one in protocols for f in _public(one)}
    lacking = {f.name: _lacks(f) for f in _public(tree) if f not in typed}
    assert {name: lacks for name, lacks in lacking.items() if lacks} == {}


@pytest.mark.parametrize("path", MODULES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_modules_and_functions_stay_short(path: Path) -> None:
    """Under 400 lines a module, 60 a function."""
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") < 400
    functions = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef)]
    assert [f.name for f in functions if f.end_lineno - f.lineno >= 60] == []
