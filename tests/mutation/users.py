"""Who uses a constant: the lines of functions that say its name.

A constant is worked out when its module is imported, before any test; the tests that
concern it are those that run a line where it is used.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Users:
    """Names that the program says.

    Attributes:
        lines: name -> module -> the lines of functions that say it.
        parts: name -> constants and fields outside of functions that are made with it.
    """

    lines: dict[str, dict[str, set[int]]]
    parts: dict[str, set[str]]

    @classmethod
    def of(cls, package: Path) -> Users:
        """Every name of a package."""
        lines: dict[str, dict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
        parts: dict[str, set[str]] = defaultdict(set)
        for path in sorted(package.rglob("*.py")):
            module = str(path.relative_to(package))
            for name, line, part in _said(ast.parse(path.read_text()), "", False):
                if part is None:
                    lines[name][module].add(line)
                elif part != name:
                    parts[name].add(part)
        return cls(lines, parts)

    def using(self, name: str) -> dict[str, set[int]]:
        """The lines that use a constant, itself or through one that is made with it."""
        found: dict[str, set[int]] = defaultdict(set)
        left, known = [name], {name}
        while left:
            one = left.pop()
            for module, lines in self.lines.get(one, {}).items():
                found[module] |= lines
            new = self.parts.get(one, set()) - known
            known |= new
            left += new
        return found


def _said(node: ast.AST, part: str, in_function: bool) -> Iterator[tuple[str, int, str | None]]:
    """Names that are read: each with its line, and outside of functions what it is part of."""
    for child in ast.iter_child_nodes(node):
        within, own = in_function, part
        match child:
            case ast.FunctionDef() | ast.Lambda():
                within = True
                own = getattr(child, "name", own)
            case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
                own = own if in_function else name
            case ast.Name(id=name, ctx=ast.Load()) | ast.Attribute(attr=name, ctx=ast.Load()):
                yield name, child.lineno, None if in_function else part
            case ast.keyword(arg=str(name)) if in_function:
                yield name, child.value.lineno, None
        yield from _said(child, own, within)
