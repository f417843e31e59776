"""The faults: one small change of a module's text for each place where one fits.

Invariant: a mutant is the module's own text with one expression written anew, so that
every other line keeps its number. Sentences, annotations, decorators, assertions and
the options of a class are left alone: a change there is not a change of what is done.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

_COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
_LARGER = 1.25  # a float is multiplied by this: more than rounding, less than absurd


@dataclass(frozen=True)
class Mutant:
    """One fault.

    Attributes:
        line: where it is in the module.
        function: the qualified name of the function around it; "" at the module's top.
        kind: comparison, boolean, arithmetic, constant or return.
        before: what stands there.
        after: what stands there instead.
        text: the whole module with the fault in it.
    """

    line: int
    function: str
    kind: str
    before: str
    after: str
    text: str


def mutants(text: str) -> Iterator[Mutant]:
    """Every fault that fits into a module, from top to bottom."""
    lines = text.encode().splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line))
    for function, node in _places(ast.parse(text), ""):
        for kind, new in _changes(node):
            first = starts[node.lineno - 1] + node.col_offset
            last = starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[operator]
            raw = text.encode()
            before = raw[first:last].decode()
            after = _written(new) + "\n" * before.count("\n")
            whole = (raw[:first] + after.encode() + raw[last:]).decode()
            yield Mutant(node.lineno, function, kind, before, after.rstrip(), whole)


def _written(node: ast.AST) -> str:
    """A statement as it is; an expression in brackets, so that a line may be folded."""
    shown = ast.unparse(node)
    return shown if isinstance(node, ast.stmt | ast.Constant) else f"({shown})"


def _places(node: ast.AST, function: str) -> Iterator[tuple[str, ast.stmt | ast.expr]]:
    """The nodes that may be changed, each with the function around it."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        if isinstance(node, ast.ClassDef) and name in ("bases", "keywords"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.Assert | ast.JoinedStr) or not isinstance(child, ast.AST):
                continue
            inside = function
            if isinstance(child, ast.FunctionDef | ast.ClassDef):
                within = ".<locals>" if function and isinstance(node, ast.FunctionDef) else ""
                inside = f"{function}{within}.{child.name}".lstrip(".")
            if isinstance(child, ast.stmt | ast.expr):
                yield inside, child
            yield from _places(child, inside)


def _changes(node: ast.stmt | ast.expr) -> Iterator[tuple[str, ast.stmt | ast.expr]]:
    """What may stand in a node's place instead."""
    match node:
        case ast.Compare(left, [op], others) if type(op) in _COMPARED:
            yield "comparison", ast.Compare(left, [_COMPARED[type(op)]()], others)
        case ast.Compare(left, [first, *rest], others) if type(first) in _COMPARED:
            yield "comparison", ast.Compare(left, [_COMPARED[type(first)](), *rest], others)
        case ast.BoolOp(op, values):
            other = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield "boolean", ast.BoolOp(other, values)
        case ast.UnaryOp(ast.Not(), operand):
            yield "boolean", operand
        case ast.BinOp(left, op, right) if type(op) in _RECKONED and not _is_text(node):
            yield "arithmetic", ast.BinOp(left, _RECKONED[type(op)](), right)
        case ast.Constant(bool() as value):
            yield "constant", ast.Constant(not value)
        case ast.Constant(int() as value):
            yield "constant", ast.Constant(value + 1)
        case ast.Constant(float() as value):
            yield "constant", ast.Constant(value * _LARGER if value else 1.0)
        case ast.Return(value) if value is not None and not _is_nothing(value):
            yield "return", ast.Return(ast.Constant(None))
        case _:
            return


def _is_text(node: ast.BinOp) -> bool:
    """Whether text is added to text, or a path divided: no sum."""
    sides = (node.left, node.right)
    return any(
        isinstance(side, ast.JoinedStr | ast.List | ast.Tuple)
        or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in sides
    )


def _is_nothing(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None
