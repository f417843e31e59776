"""What Tab offers: commands, names out of the book, words of a choice.

Invariant: quick, and no message. Where there is no book, or any trouble with it,
nothing is offered and nothing is said; nothing is ever written.
"""

# Not postponed: typer takes the annotations as types, and reading them from text takes time.

import os
import re
from collections.abc import Callable
from typing import Any

import typer

from weldcal import settings
from weldcal.cli import arguments
from weldcal.records.fields import CHOICES
from weldcal.words import _

Offer = Callable[[typer.Context, str], list[str]]


def names(*tables: str) -> Offer:
    """Names of the job's things of these tables."""

    def offer(ctx: typer.Context, incomplete: str) -> list[str]:
        from weldcal.book import Book

        typed = ctx.find_root().params
        book = Book(settings.book_path(typed.get("book")), job=typed.get("job"))
        try:
            listed = [name for table in tables for name in book.reader.names_in(table)]
        except Exception:  # Tab is no place to tell of trouble; the command itself will
            return []
        finally:
            book.close()
        printable = (
            name for name in dict.fromkeys(listed) if name.isprintable()
        )  # the shell shows it
        return [name for name in printable if name.startswith(incomplete)]

    return offer


def words(field: str) -> Offer:
    """The words of a choice, in the reader's language."""

    def offer(ctx: typer.Context, incomplete: str) -> list[str]:
        return [_(word) for word in CHOICES[field][1]]

    return offer


def limits(ctx: typer.Context, incomplete: str) -> list[str]:
    """The limits there are."""
    from weldcal.book.limits import limit_defaults

    return list(limit_defaults())


SEAMS = names("seams")
STRIPS = names("strips")
FINDINGS = names("findings")
MACHINES = names("machines")
SHEETS = names("sheets")
PEOPLE = names("people")
INSTRUMENTS = names("instruments")
ANYTHING = names("strips", "runs", "bleeds", "walks", "findings", "mends", "peels", "seams")


def tab(app: typer.Typer) -> int:
    """Answer the shell, which asks through the environment.

    Returns:
        The exit code: 0, or for fish 1 where there is nothing and files may be offered.
    """
    shell = settings.completing().removeprefix("complete_")
    try:
        words, begun = _asked(shell)
        offered = _offered(typer.main.get_command(app), None, "weldcal", words, begun)
    except Exception:  # Tab is no place to tell of trouble
        return 1
    if shell == "zsh":
        print(_for_zsh(offered))
    elif shell == "fish" and os.environ.get("_TYPER_COMPLETE_FISH_ACTION") == "is-args":
        return int(not offered)
    else:
        print("\n".join(_for_bash(offered) if shell == "bash" else offered))
    return 0


def _asked(shell: str) -> tuple[list[str], str]:
    """The words before the cursor without the program's name, and the one begun there."""
    if shell == "bash":
        words, at = _split(os.environ["COMP_WORDS"]), int(os.environ["COMP_CWORD"])
        words = words[:at] + (words[at : at + 1] or [""])
    else:
        typed = os.environ.get("_TYPER_COMPLETE_ARGS", "")
        words = _split(typed) + ([""] if typed.endswith(" ") else [])
    begun = words[-1] if len(words) > 1 else ""
    return [word for word in words[1:-1] if word != "="], "" if begun == "=" else begun


def _split(text: str) -> list[str]:
    """Words as a shell parts them; a quote still open ends with the text."""
    import shlex  # no command but Tab needs it

    lexer = shlex.shlex(text, posix=True)
    lexer.whitespace_split, lexer.commenters = True, ""
    words: list[str] = []
    try:
        words.extend(lexer)
    except ValueError:
        words.append(lexer.token)
    return words


def _offered(
    command: Any, above: typer.Context | None, name: str | None, words: list[str], begun: str
) -> list[str]:
    """What can stand where the cursor is."""
    how = command.context_settings | {"resilient_parsing": True}
    ctx = typer.Context(command, info_name=name, parent=above, **how)
    typed = arguments.read(command, ctx, command.in_full(ctx, words))
    ctx.params.update(typed.values)
    options = {name: p for p in command.get_params(ctx) for name in p.opts if name[:1] == "-"}
    is_group = hasattr(command, "list_commands")
    if is_group and typed.rest:
        name, below, rest = command.resolve_command(ctx, typed.rest)
        return [] if below is None else _offered(below, ctx, name, rest, begun)
    if typed.bare:
        return _values(options[typed.bare], ctx, begun)
    if begun.startswith("-") and not typed.ended:
        option, equals, value = begun.partition("=")
        if equals:
            return _values(options[option], ctx, value) if option in options else []
        free = (name for name, p in options.items() if p.name not in typed.values or p.multiple)
        return [name for name in free if name.startswith(begun)]
    commands = command.list_commands(ctx) if is_group else ()
    return [
        *(name for name in commands if name.startswith(begun)),
        *_words(command, ctx, begun),
    ]


def _words(command: Any, ctx: typer.Context, begun: str) -> list[str]:
    """What the next argument can be; of a group whose command needs no name, that command's."""
    first = getattr(command, "unnamed", None)
    if first is not None:
        command = command.get_command(ctx, first)
    for param in command.get_params(ctx):
        is_next = param.name not in ctx.params or param.nargs == arguments.MANY
        if param.param_type_name == "argument" and is_next:
            return _values(param, ctx, begun)
    return []


def _values(param: Any, ctx: typer.Context, begun: str) -> list[str]:
    return [str(item.value) for item in param.shell_complete(ctx, begun)]


def _for_bash(offered: list[str]) -> list[str]:
    """bash inserts text unchanged: spaces need their backslash."""
    return [re.sub(r"([^\w@%+=:,./-])", r"\\\1", word) for word in offered]


def _for_zsh(offered: list[str]) -> str:
    """A call of zsh's own; what it would read as more than a word is left out."""
    plain = [word for word in offered if not set(word) & set("\\\"'$`")]
    if not plain:
        return "_files"
    quoted = (f'"{word.replace(":", chr(92) * 2 + ":")}"' for word in plain)
    return f"_arguments '*: :(({chr(10).join(quoted)}))'"
