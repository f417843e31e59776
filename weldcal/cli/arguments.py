"""A line's words, given to the parameters of its command as they were typed.

Invariant: only what typer shows of a parameter is used (its names, whether it is a
flag, repeats or is required, its default and callback). Its own reading converts every
value through pydantic, which takes as long to import as the rest of typer together, and
here every value stays text until `records.fields` reads it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import typer
from msgspec import Struct
from typer.core import TyperArgument, TyperOption

from weldcal.errors import LoneOption

if TYPE_CHECKING:
    from weldcal.flow.question import Call

Parameter = TyperArgument | TyperOption
MANY = -1  # as typer writes it: an argument that takes all words there are


class Typed(Struct):
    """What a line comes to.

    Attributes:
        values: what was typed for each parameter, by its name.
        rest: the words that no parameter takes.
        bare: an option at the very end that lacks its value, "" where there is none.
        ended: whether `--` was typed, after which nothing is an option.
    """

    values: dict[str, Any]
    rest: list[str]
    bare: str = ""
    ended: bool = False


def read(command: Any, ctx: typer.Context, words: Iterable[str]) -> Typed:
    """What each parameter of a command is given, and what is left over.

    Args:
        command: a command, where options may follow words, or a group, which stops at the
            first word (`mixed` says which).
        ctx: its context; with `resilient_parsing` nothing is refused, for Tab asks; with
            `ignore_unknown_options` what reads as an option and is none is a word, like -5C.
        words: what was typed after its name.

    Raises:
        WeldcalError: an option that there is not, that lacks its value or takes none.
    """
    params: list[Parameter] = command.get_params(ctx)
    named = {name: p for p in params for name in (*p.opts, *p.secondary_opts) if _is_option(p)}
    typed, queue = Typed({}, []), deque(words)
    loose: list[str] = []
    while queue:
        word = queue.popleft()
        if word == "--":
            typed.ended = True
            loose += queue
            break
        is_option = len(word) > 1 and word.startswith("-")
        if is_option and not (ctx.ignore_unknown_options and word.partition("=")[0] not in named):
            _option(word, named, queue, typed, command, ctx)
        elif command.mixed:
            loose.append(word)
        else:
            loose += [word, *queue]
            break
    typed.rest = _arguments([p for p in params if not _is_option(p)], loose, typed.values)
    return typed


def given(command: Any, ctx: typer.Context, call: Call) -> Typed:
    """The values of a call, each for its parameter: no line is read."""
    params: list[Parameter] = command.get_params(ctx)
    named = {name: p for p in params if _is_option(p) for name in p.opts}
    values: dict[str, Any] = {}
    for name, value in call.options.items():
        values[named[name].name] = [value] if named[name].multiple else value
    rest = _arguments([p for p in params if not _is_option(p)], list(call.words), values)
    return Typed(values, rest)


def fill(command: Any, ctx: typer.Context, typed: Typed) -> None:
    """Put every parameter's value, typed or by default, into the context; call the callbacks.

    Raises:
        WeldcalError: a word that must be there is not.
    """
    params: list[Parameter] = command.get_params(ctx)
    for param in sorted(params, key=lambda param: not param.is_eager):
        value = typed.values.get(param.name)
        if value is None:
            value = param.get_default(ctx)
        if value is None and _is_several(param):
            value = ()
        if param.required and value in (None, ()):
            raise _usage().missing(param, command, ctx)
        if param.callback is not None:
            value = param.callback(ctx, param, value)
        if param.expose_value:
            ctx.params[param.name] = value


def _usage() -> Any:
    """The sentences for a wrong line, which a right one does not load."""
    from weldcal.cli import usage

    return usage


def _is_option(param: Parameter) -> bool:
    return isinstance(param, TyperOption)


def _is_several(param: Parameter) -> bool:
    return param.multiple or param.nargs == MANY


def _option(
    word: str,
    named: dict[str, Parameter],
    queue: deque[str],
    typed: Typed,
    command: Any,
    ctx: typer.Context,
) -> None:
    """Give an option its value: after `=`, or the next word whatever it looks like."""
    name, equals, value = word.partition("=")
    param = named.get(name)
    if param is None:
        if not ctx.resilient_parsing:
            raise _usage().no_option(name if word.startswith("--") else word[:2], command, ctx)
    elif param.is_flag:  # type: ignore[union-attr]
        if equals and not ctx.resilient_parsing:
            raise LoneOption(path=ctx.command_path, option=name)
        typed.values[param.name] = name in param.opts
    elif equals or queue:
        given = value if equals else queue.popleft()
        if param.multiple:
            given = [*typed.values.get(param.name, ()), given]  # type: ignore[assignment]
        typed.values[param.name] = given
    elif ctx.resilient_parsing:
        typed.bare = name
    else:
        raise _usage().needs_value(param, name, command, ctx)


def _arguments(params: list[Parameter], words: list[Any], values: dict[str, Any]) -> list[Any]:
    """Give words to arguments from the left; one that takes many leaves the last to those after it."""
    left = deque(words)
    for n, param in enumerate(params):
        if param.nargs == MANY:
            taken = max(len(left) - len(params[n + 1 :]), 0)
            if taken:
                values[param.name] = tuple(left.popleft() for _word in range(taken))
        elif left:
            values[param.name] = left.popleft()
    return list(left)
