"""The faults: one small change of a module's text for each place where one fits.

Invariant: a mutant is the module's own text with one expression written anew, so that
every other line keeps its number.

Left alone, by these rules and no list, for a change there is no change of what is done:

- sentences, annotations, decorators, assertions, the options of a class, `__repr__`,
  `cast`, what stands under `TYPE_CHECKING`, protocols and overloads;
- `<` for `<=` where a side is a tolerance of place (`SAME_PLACE_M`), where both sides are
  lengths in metres (names in `_m`, which are one within that tolerance), or where a side is
  a number no larger than a millionth;
- numbers that say how exactly or how long something is tried: no larger than a millionth,
  or given as one of `_TRIED` (tolerances and steps of a solver, waits, sizes of a cache); and
  the seed of a generator, for any other stream of its numbers is as good;
- `strict` of a `zip`, which asserts; `None` for `False` from a function that says `bool`;
- what the compiler makes the same code of (`is_none`).
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
_LARGER = 1.25  # a number is multiplied by this: more than rounding, less than absurd
_COUNTED = 100  # a whole number up to here is one more instead
_EXACT = 1e-6
_TRIED = frozenset(
    [
        "atol",
        "rtol",
        "xtol",
        "ftol",
        "gtol",
        "tol",
        "maxiter",
        "max_iter",
        "maxfev",
        "timeout",
        "wait_s",
        "maxsize",
        "strict",
    ]
)
_WAITS = frozenset(("sleep", "wait"))


@dataclass(frozen=True)
class Mutant:
    """One fault.

    Attributes:
        line: where it is in the module.
        lines: the lines it touches.
        function: the qualified name of the function around it; "" at the module's top.
        named: the constant or field that it is part of, outside of functions; several, made in
            one line, with blanks; else "".
        kind: comparison, boolean, arithmetic, constant or return.
        before: what stands there.
        after: what stands there instead.
        text: the whole module with the fault in it.
    """

    lines: range
    function: str
    named: str
    kind: str
    before: str
    after: str
    text: str

    @property
    def line(self) -> int:
        """Where it begins."""
        return self.lines.start


@dataclass(frozen=True)
class _Around:
    """What stands around a node."""

    function: str = ""
    named: str = ""
    is_function: bool = False
    says_bool: bool = False


def mutants(text: str) -> Iterator[Mutant]:
    """Every fault that fits into a module, from top to bottom."""
    raw = text.encode()
    starts = [0]
    for line in raw.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for around, node in _places(ast.parse(text), _Around()):
        for kind, new in _changes(node):
            if kind == "return" and around.says_bool and _is(node, False):
                continue
            end = node.end_lineno or node.lineno
            first = starts[node.lineno - 1] + node.col_offset
            last = starts[end - 1] + (node.end_col_offset or 0)
            before = raw[first:last].decode()
            after = _written(new, before.count("\n"))
            whole = (raw[:first] + after.encode() + raw[last:]).decode()
            lines = range(node.lineno, end + 1)
            yield Mutant(
                lines,
                around.function,
                around.named,
                kind,
                before,
                after.replace(chr(10), ""),
                whole,
            )


def is_none(text: str, mutant: Mutant) -> bool:
    """Whether the compiler makes the same code of a module and its mutant."""
    plain, faulty = (compile(one, "module", "exec") for one in (text, mutant.text))
    return plain == faulty


def _written(node: ast.AST, folds: int) -> str:
    """A statement as it is; an expression in brackets, so that a line may be folded."""
    shown = ast.unparse(node)
    if isinstance(node, ast.stmt | ast.Constant):
        return shown + "\n" * folds
    return f"({shown}{chr(10) * folds})"


def _places(node: ast.AST, around: _Around) -> Iterator[tuple[_Around, ast.stmt | ast.expr]]:
    """The nodes that may be changed, each with what stands around it."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        if isinstance(node, ast.ClassDef) and name in ("bases", "keywords"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or _changes_nothing(child):
                continue
            inside = _within(child, around)
            if isinstance(child, ast.stmt | ast.expr):
                yield inside, child
            yield from _places(child, inside)


def _within(child: ast.AST, around: _Around) -> _Around:
    match child:
        case ast.FunctionDef() | ast.ClassDef():
            within = ".<locals>" if around.is_function else ""
            is_function = isinstance(child, ast.FunctionDef)
            says = getattr(child, "returns", None)
            return _Around(
                f"{around.function}{within}.{child.name}".lstrip("."),
                is_function=is_function,
                says_bool=isinstance(says, ast.Name) and says.id == "bool",
            )
        case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
            if not around.is_function:
                return _Around(around.function, name)
        case ast.Assign(targets=[ast.Tuple(elts=names)]) if not around.is_function:
            return _Around(around.function, " ".join(map(_called, names)))
    return around


def _changes_nothing(node: ast.AST) -> bool:
    """Whether a change in it, or in what it holds, is none of what is done."""
    match node:
        case ast.Assert() | ast.JoinedStr():
            return True
        case ast.FunctionDef(name="__repr__"):
            return True
        case ast.FunctionDef(decorator_list=marks) if any(_called(m) == "overload" for m in marks):
            return True
        case ast.ClassDef(bases=bases) if any(_called(b) == "Protocol" for b in bases):
            return True
        case ast.If(test=test) if _called(test) == "TYPE_CHECKING":
            return True
        case ast.keyword(arg=str(name)) if name in _TRIED:
            return True
        case ast.Call(func=func) if _called(func) in _WAITS | {"cast", "default_rng"}:
            return True
        case ast.Constant(float() as value) if 0 < abs(value) <= _EXACT:
            return True
    return False


def _called(node: ast.expr) -> str:
    """The last part of a name."""
    match node:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name
        case ast.Subscript(value=value):
            return _called(value)
    return ""


def _is_one_place(sides: list[ast.expr]) -> bool:
    """Whether the very bound of a comparison says nothing: see the module's rules."""
    names = [{_called(n) for n in ast.walk(side) if isinstance(n, ast.expr)} for side in sides]
    if any("SAME_PLACE_M" in found for found in names) or any(
        isinstance(n, ast.Constant) and isinstance(n.value, float) and 0 < abs(n.value) <= _EXACT
        for side in sides
        for n in ast.walk(side)
    ):
        return True
    return all(any(name.lower().endswith("_m") for name in found) for found in names)


def _changes(node: ast.stmt | ast.expr) -> Iterator[tuple[str, ast.stmt | ast.expr]]:
    """What may stand in a node's place instead."""
    match node:
        case ast.Compare(left, [ast.Lt() | ast.LtE() | ast.Gt() | ast.GtE(), *_], others) if (
            _is_one_place([left, others[0]])
        ):
            return
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
            larger = value + 1 if abs(value) <= _COUNTED else round(value * _LARGER)
            yield "constant", ast.Constant(larger)
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


def _is(node: ast.stmt | ast.expr, value: bool) -> bool:
    """Whether a statement returns just this."""
    match node:
        case ast.Return(ast.Constant(bool() as said)):
            return said is value
    return False
