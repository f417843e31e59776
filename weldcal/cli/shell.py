"""What every command stands on: the book in the context, answers, prompts.

Invariant: values reach a command as typed and are read by `records.fields`;
the command line itself converts nothing.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import typer
from typer.core import TyperCommand, TyperGroup
from typer.exceptions import TyperException

from weldcal.book import Book, Recorded
from weldcal.cli import line
from weldcal.errors import Missing, Unconfirmed, WeldcalError
from weldcal.reports import lines, show
from weldcal.words import _

T = TypeVar("T")
# Where a command finds, in its context: the book's path, the job named, the clock.
PLACE = "weldcal.place"


class _AsTyped:
    """Passes values on as typed. typer's own conversion loads pydantic: 80 ms for nothing."""

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        several = param.multiple or param.nargs == -1
        return () if value is None and several else value


class _OurOwn:
    """What commands and groups share: values as typed, our own help and refusals."""

    def get_params(self, ctx: Any) -> list[Any]:
        params: list[Any] = super().get_params(ctx)  # type: ignore[misc]
        for param in params:
            param._runtime_param = _AsTyped()
        return params

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        offered: list[Any] = super().shell_complete(ctx, incomplete)  # type: ignore[misc]
        for item in offered:
            item.help = None  # typer would load rich to tidy it
        return offered

    def get_help(self, ctx: Any) -> str:
        from weldcal.cli import help as pages

        return pages.page(self, ctx)

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        ctx.allow_extra_args = True  # told below, in our own words
        try:
            rest: list[str] = super().parse_args(ctx, args)  # type: ignore[misc]
        except TyperException as error:
            if type(error).__name__ == "NoArgsIsHelpError":  # typer keeps the class to itself
                raise
            from weldcal.cli import usage

            raise usage.plain(error, self, ctx) from None
        return rest


class Command(_OurOwn, TyperCommand):
    """A command whose values are text, lists of text or flags."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the line; more words than fit are refused."""
        rest = super().parse_args(ctx, args)
        if rest and not ctx.resilient_parsing:
            from weldcal.cli import usage

            raise usage.too_many(rest, self, ctx)
        return rest


class Group(_OurOwn, TyperGroup):
    """A group of such commands."""

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        """Offer the commands' names without importing them, else options."""
        from typer import core

        item: Any = core.CompletionItem  # type: ignore[attr-defined]
        if incomplete.startswith("-"):
            return super().shell_complete(ctx, incomplete)
        return [item(name) for name in self.list_commands(ctx) if name.startswith(incomplete)]

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        """Find the command; a wrong one is refused with the one that was meant."""
        command = self.get_command(ctx, args[0])
        if command is None and not ctx.resilient_parsing:
            from weldcal.cli import usage

            raise usage.no_command(self, ctx, args[0])
        return args[0] if command else None, command, args[1:]


LINE = "line"
WALK = "walk"


class LineGroup(Group):
    """A group one of whose commands, `line`, needs no name: a number in the name's place calls it."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command named; `line` where a number stands there."""
        typed = args and args[0] not in self.list_commands(ctx) and any(map(str.isdigit, args[0]))
        return super().resolve_command(ctx, [LINE, *args] if typed else args)


class WalkGroup(Group):
    """A group one of whose commands, `walk`, needs no name: whatever is no command's name calls it."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """The words, with `walk` before them where no command is named."""
        named = args and (args[0] in self.list_commands(ctx) or args[0] == "--help")
        return list(super().parse_args(ctx, args if named or not args else [WALK, *args]))

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        """Its commands, and what the walk's first word can be."""
        walk: Any = self.get_command(ctx, WALK)
        first = walk.params[0].shell_complete(ctx, incomplete)
        return [*super().shell_complete(ctx, incomplete), *first]


def group(help_text: str, *, alone: bool = False, cls: type[Group] | None = None) -> typer.Typer:
    """A group of commands that share a first word, be they one or several.

    With `alone` the first word is a command by itself too: its callback. `cls`: a
    group one of whose commands needs no name.
    """
    return typer.Typer(
        cls=cls or Group,
        help=help_text,
        no_args_is_help=not alone,
        invoke_without_command=alone,
        add_completion=False,
        rich_markup_mode=None,
        callback=None if alone else lambda: None,
    )


def single() -> typer.Typer:
    """A command of one word."""
    return typer.Typer(add_completion=False, rich_markup_mode=None)


def book_of(ctx: typer.Context) -> Book:
    """The open book of this run."""
    book: Book = ctx.find_root().obj
    return book


def say(text: str) -> None:
    """Print one paragraph folded to the screen."""
    print(lines.wrapped(text))


def answer(ctx: typer.Context, as_json: bool, what: str, done: Recorded) -> None:
    """Show what was recorded: one JSON document, or a few lines."""
    book = book_of(ctx)
    if as_json:
        notes = [{"code": n.code, **_plain(n.values)} for n in done.notes]
        print(show.as_json({"id": done.id, "name": done.name, **done.values, "notes": notes}))
        return
    say(lines.recorded(what, done.name))
    for note in lines.notes(done.notes, book.job.units):
        say(note)


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    short = values.get("shortfall")
    if short is None:
        return values
    return {"shortfall": short.code, **short.values}


def interactive() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def ask(
    label: str, read: Callable[[str], T], default: str | None = None, *, left_out: str | None = None
) -> T | None:
    """Ask until the answer can be read.

    Enter takes the default; with none it skips where `left_out` says what that means.
    """
    shown = f" [{show.safe(default)}]" if default else f" ({left_out})" if left_out else ""
    question = f"{label}{shown}: "
    question = lines.prompt(question)
    while True:
        typed = keystroke(question) or (default or "")
        if not typed and left_out:
            return None
        try:
            return read(typed)
        except WeldcalError as error:
            say(str(error))


def keystroke(question: str) -> str:
    """What is typed at a question.

    Raises:
        KeyboardInterrupt: it was a word for leaving, as at any question of the day.
    """
    from weldcal.flow.question import LEAVE

    typed = line.typed(question).strip()
    if typed.casefold() in LEAVE:
        raise KeyboardInterrupt
    return typed


def needed(
    value: str | None,
    label: str,
    option: str,
    example: str,
    read: Callable[[str], T],
    default: str | None = None,
) -> T:
    """Read a value that must be there: as given, else asked for.

    Raises:
        Missing: not given, and nobody is there to ask.
    """
    if value is not None:
        return read(value)
    if not interactive():
        raise Missing(name=label, option=option, example=f"{option} {example}")
    found = ask(label, read, default)
    assert found is not None
    return found


def settled(
    first: T,
    page: Callable[[T], list[str]],
    mended: Callable[[T, str], T],
    *,
    yes: bool,
    quiet: bool = False,
) -> T:
    """Show what a line came to until Enter says that it is right; what is typed mends it.

    Args:
        first: what it came to.
        page: it in words.
        mended: it with what was typed put right.
        yes: nobody needs to be asked.
        quiet: nothing is shown, so nobody can be asked either.

    Raises:
        Unconfirmed: nobody is there to say so.
    """
    shown = first
    while True:
        if not quiet:
            print_all(page(shown))
        if yes:
            return shown
        if quiet or not interactive():
            raise Unconfirmed
        say(_("Enter to keep it; or type what is wrong; q leaves."))
        while typed := keystroke(lines.answer_here()):
            try:
                shown = mended(shown, typed)
                break
            except WeldcalError as error:
                say(str(error))
        if not typed:
            return shown


def print_all(texts: Sequence[str]) -> None:
    """Print paragraphs one after another."""
    for text in texts:
        say(text)
