"""What every command needs: the book in the context, answers, prompts.

Invariant: values reach a command as typed and are read by `records.fields`;
the command line itself converts nothing.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import typer
from typer.core import TyperCommand, TyperGroup

from weldcal.book import Book, Recorded
from weldcal.cli import arguments, replies
from weldcal.cli.replies import REPLIES, GoBack
from weldcal.errors import Missing, NeedsCommand, Unconfirmed, WeldcalError
from weldcal.reports import lines, show
from weldcal.words import _

T = TypeVar("T")
# Where a command finds, in its context: the book's path, the job named, the clock.
PLACE = "weldcal.place"


class _OurOwn:
    """What commands and groups share: our own reading of the line, help and refusals."""

    mixed = True  # whether options may follow words

    def get_help(self, ctx: Any) -> str:
        """The help page."""
        from weldcal.cli import help as pages

        return pages.page(self, ctx)

    def in_full(self, ctx: Any, words: list[str]) -> list[str]:
        """The words with those added that need not be typed."""
        return words

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Give the words to the parameters; what is left over stays in the context."""
        typed = arguments.read(self, ctx, self.in_full(ctx, args))
        arguments.fill(self, ctx, typed)
        ctx.args = typed.rest
        return typed.rest


class Command(_OurOwn, TyperCommand):
    """A command whose values are text, lists of text or flags."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the line; more words than fit are refused."""
        rest = super().parse_args(ctx, args)
        if rest:
            from weldcal.cli import usage

            raise usage.too_many(rest, self, ctx)
        return rest

    def invoke(self, ctx: Any) -> Any:
        """Run it; `back` at one of its questions asks the one before again."""
        return REPLIES.run(partial(super().invoke, ctx))


class CommandGroup(_OurOwn, TyperGroup):
    """A group of such commands."""

    mixed = False

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the options before the command's name; with nothing typed, show the help page."""
        if not args and self.no_args_is_help:
            print(self.get_help(ctx))
            ctx.exit()
        return super().parse_args(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run the group's own function, then the command named.

        Raises:
            NeedsCommand: none is named, and the group does nothing by itself.
        """
        words: list[str] = ctx.args
        if not words and not self.invoke_without_command:
            raise NeedsCommand(path=ctx.command_path)
        name, command, rest = self.resolve_command(ctx, words) if words else (None, None, [])
        ctx.invoked_subcommand = name
        result = ctx.invoke(self.callback, **ctx.params) if self.callback else None
        if command is None:
            return result
        with command.make_context(name, rest, parent=ctx) as below:
            return command.invoke(below)

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        """Find the command; a wrong one is refused with the one that was meant."""
        command = self.get_command(ctx, args[0])
        if command is None:
            if ctx.resilient_parsing:
                return None, None, args[1:]
            from weldcal.cli import usage

            raise usage.no_command(self, ctx, args[0])
        return args[0], command, args[1:]


LINE = "line"
WALK = "walk"
REPORT = "report"


class LineGroup(CommandGroup):
    """A group one of whose commands, `line`, needs no name: a number in the name's place calls it."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command named; `line` where a number stands there."""
        typed = args and args[0] not in self.list_commands(ctx) and any(map(str.isdigit, args[0]))
        return super().resolve_command(ctx, [LINE, *args] if typed else args)


class WalkGroup(CommandGroup):
    """A group one of whose commands needs no name: whatever is no command's name calls it."""

    unnamed = WALK

    def in_full(self, ctx: Any, words: list[str]) -> list[str]:
        """The words, with that command's name before them where none is named."""
        named = words and (words[0] in self.list_commands(ctx) or words[0] == "--help")
        return words if named or not words else [self.unnamed, *words]


class ReportGroup(WalkGroup):
    """A group of which `report` needs no name."""

    unnamed = REPORT


def group(
    help_text: str, *, alone: bool = False, cls: type[CommandGroup] | None = None
) -> typer.Typer:
    """A group of commands that share a first word, be they one or several.

    With `alone` the first word is a command by itself too: its callback. `cls`: a
    group one of whose commands needs no name.
    """
    return typer.Typer(
        cls=cls or CommandGroup,
        help=help_text,
        no_args_is_help=not alone,
        invoke_without_command=alone,
        add_completion=False,
        rich_markup_mode=None,
        callback=None if alone else lambda: None,
    )


def single(run: Callable[..., None]) -> typer.Typer:
    """Make a function a command of one word."""
    app = typer.Typer(add_completion=False, rich_markup_mode=None)
    app.command(cls=Command)(run)
    return app


def book_of(ctx: typer.Context) -> Book:
    """The open book of this run."""
    book: Book = ctx.find_root().obj
    return book


def say(text: str) -> None:
    """Print one paragraph folded to the screen."""
    print(lines.wrapped(text))


def print_json(document: object) -> None:
    """Print one JSON document."""
    print(show.as_json(document))


def answer(book: Book, as_json: bool, what: str, recorded: Recorded) -> None:
    """Show what was recorded: one JSON document, or a few lines."""
    if as_json:
        notes = [{"code": n.code, **_plain(n.values)} for n in recorded.notes]
        print_json({"id": recorded.id, "name": recorded.name, **recorded.values, "notes": notes})
        return
    say(lines.recorded(what, recorded.name))
    print_all(lines.notes(recorded.notes, book.job.units))


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
        typed = REPLIES.reply(question, _answer) or (default or "")
        if not typed and left_out:
            return None
        try:
            return read(typed)
        except WeldcalError as error:
            REPLIES.refused()
            say(str(error))


def _answer(question: str) -> str:
    """What is typed at a command's question.

    Raises:
        GoBack, KeyboardInterrupt: it was a word for going back, for leaving.
    """
    from weldcal.flow.question import BACK

    typed = keystroke(question)
    if typed.casefold() in BACK:
        raise GoBack
    return typed


def keystroke(question: str) -> str:
    """What is typed at a question.

    Raises:
        KeyboardInterrupt: it was a word for leaving, as at any question of the day.
    """
    from weldcal.flow.question import LEAVE

    typed = replies.typed(question).strip()
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
    typed_answer = ask(label, read, default)
    assert typed_answer is not None
    return typed_answer


def needed_words(value: str | None, label: str, option: str, example: str, what: str) -> str:
    """Words that must be there: as given, else asked for; `what` they are, for a refusal.

    Raises:
        Missing: not given, and nobody is there to ask.
    """
    from weldcal.records.fields import plain_name

    return needed(value, label, option, f'"{example}"', lambda text: plain_name(what, text))


def settled(
    first: T,
    page: Callable[[T], list[str]],
    mended: Callable[[T, str], T],
    *,
    yes: bool,
    quiet: bool = False,
) -> T:
    """Show how a line was read until Enter confirms it; what is typed corrects it.

    Args:
        first: what it came to.
        page: it in words.
        mended: it with what was typed put right.
        yes: nobody needs to be asked.
        quiet: nothing is shown, so nobody can be asked either.

    Raises:
        Unconfirmed: nobody is there to say so.
    """
    proposal = first
    while True:
        if not quiet:
            print_all(page(proposal))
        if yes:
            return proposal
        if quiet or not interactive():
            raise Unconfirmed
        say(_("Enter to keep it; or type what is wrong; b goes one back, q leaves."))
        while typed := REPLIES.reply(lines.answer_here(), _answer):
            try:
                proposal = mended(proposal, typed)
                break
            except WeldcalError as error:
                REPLIES.refused()
                say(str(error))
        if not typed:
            return proposal


def tell_written(*paths: Path | str) -> None:
    """Say which files were written."""
    for path in paths:
        say(_("{file} written.", file=show.safe(path)))


def print_all(texts: Iterable[str]) -> None:
    """Print paragraphs one after another, the screen's width asked for once."""
    width = lines.columns()
    for text in texts:
        print(lines.wrapped(text, width))
