"""The entry point: finds the command, turns refusals into one line and an exit code.

Invariant: no traceback reaches a user. Commands are imported when they are
called: recording a strip does not load what the roof plan needs.
"""

# Not postponed: typer takes the annotations as types, and reading them from text takes time.
import gc
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from copy import copy
from typing import TYPE_CHECKING, Any

import typer

from weldcal import __version__, settings
from weldcal.book import Book
from weldcal.book.file import Clock
from weldcal.cli import arguments, parse
from weldcal.cli.parse import option
from weldcal.cli.replies import GoBack
from weldcal.cli.screen import as_asked
from weldcal.cli.shell import PLACE, CommandGroup, say
from weldcal.cli.start import plain_streams
from weldcal.errors import LoadRefused, WeldcalError
from weldcal.words import _, mark

if TYPE_CHECKING:
    from weldcal.flow.question import Call

# Command -> module, grouped by the person who types it.
COMMANDS: dict[str, dict[str, str]] = {
    mark("Everybody"): {"day": "day"},
    mark("Operator"): {
        "board": "board",
        "strip": "strips",
        "dial": "dial",
        "now": "dial",
        "conditions": "strips",
        "seam": "seams",
        "bleed": "seams",
        "width": "seams",
        "go-ahead": "judging",
        "chart": "sampling",
        "check": "judging",
        "power": "judging",
        "hotwork": "site",
        "startup": "upkeep",
        "roll": "stock",
        "substrate": "stock",
    },
    mark("Inspector"): {
        "probe": "probing",
        "finding": "probing",
        "mend": "probing",
        "peel": "probing",
        "sample": "sampling",
        "route": "route",
    },
    mark("Foreman"): {
        "roof": "roof",
        "trace": "foreman",
        "doubt": "doubting",
        "faults": "doubting",
        "cover": "site",
        "open-up": "site",
        "look": "upkeep",
        "leak": "leak",
        "punch": "stock",
        "amend": "foreman",
        "undo": "undo",
        "settle": "foreman",
        "verify": "foreman",
        "dossier": "dossier",
        "evening": "dossier",
        "history": "dossier",
        "learn": "knowing",
        "knowledge": "knowing",
        "seal": "keeping",
        "hand": "keeping",
        "pack": "keeping",
        "merge": "keeping",
    },
    mark("Office"): {"office": "office"},
    mark("Set-up"): {
        "job": "setup",
        "area": "setup",
        "sheet": "setup",
        "machine": "machine",
        "instrument": "setup",
        "person": "setup",
        "limit": "limit",
        "me": "setup",
        "screen": "screen",
        "cautions": "setup",
        "backup": "keeping",
        "restore": "keeping",
        "export": "keeping",
        "tables": "keeping",
        "form": "form",
        "key": "keeping",
        "completion": "completion",
        "demo": "demo",
    },
}
_MODULES = {name: module for part in COMMANDS.values() for name, module in part.items()}
_ANYWHERE = ("--book", "--job", "--screen")
_NOT_DONE = 2
_LEFT = _("left; what was not confirmed was not recorded.")


def _ready(app: typer.Typer, named: Sequence[str]) -> typer.Typer:
    """An app whose commands take each option by itself, as typer wants them.

    Of a group, only with the command that is named: making the others ready takes time.
    """
    commands = app.registered_commands
    if isinstance(app.info.cls, type):  # a group, no command by itself
        commands = [command for command in commands if command.name in named] or commands
    ready = copy(app)
    ready.registered_commands = [copy(command) for command in commands]
    for command in ready.registered_commands:
        assert command.callback is not None
        command.callback = parse.singly(command.callback)
    return ready


class _Commands(CommandGroup):
    """Commands imported one by one, when called."""

    def list_commands(self, ctx: Any) -> list[str]:
        return list(_MODULES)

    def get_command(self, ctx: Any, name: str) -> Any:
        if name not in _MODULES:
            return None
        return self._made(name, ())

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        """Find the command; of a group, only the one named next is made ready."""
        if args and args[0] in _MODULES:
            return args[0], self._made(args[0], args[1:2]), args[1:]
        return super().resolve_command(ctx, args)

    def _made(self, name: str, following: Sequence[str]) -> Any:
        """A command from its app, with the one of its commands that follows, or all of them."""
        module = importlib.import_module(f"weldcal.cli.{_MODULES[name]}")
        app: typer.Typer = getattr(module, name.replace("-", "_"))
        command = typer.main.get_command(_ready(app, following))
        command.name = name
        return command

    def by_person(self) -> list[tuple[str, list[str]]]:
        """The commands by the person they are for."""
        return [(person, list(part)) for person, part in COMMANDS.items()]


app = typer.Typer(
    cls=_Commands,
    add_completion=False,
    invoke_without_command=True,
    rich_markup_mode=None,
    help=_("Find the travel speed for hot-air welded laps, and keep the proof of every seam."),
    epilog=_(
        "Type weldcal alone for the day's questions, one at a time. To look around: weldcal demo. Exit codes: 0 yes, or done; 1 the answer is no; 2 not understood, or refused; 130 broken off."
    ),
)


def _version(asked: bool) -> None:
    """Say which version this is."""
    if asked:
        print(f"weldcal {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    ctx: typer.Context,
    book: str = option("--book", _("The book's file. Also: WELDCAL_BOOK.")),
    job: str = option("--job", _("The job to work on. Also: WELDCAL_JOB.")),
    version: bool = typer.Option(
        False,
        "--version",
        callback=_version,
        is_eager=True,
        help=_("Say which version this is, and leave."),
    ),
    screen: str = typer.Option(
        None,
        "--screen",
        callback=as_asked,
        is_eager=True,
        help=_("plain, high-contrast, or linear for a screen reader. Also: WELDCAL_SCREEN."),
    ),
) -> None:
    clock, by = ctx.obj
    ctx.obj = Book(settings.book_path(book), job=job, by=by, **({"clock": clock} if clock else {}))
    ctx.call_on_close(ctx.obj.close)
    ctx.meta[PLACE] = (ctx.obj.path, job, clock)
    if ctx.invoked_subcommand is None:
        from weldcal.cli import guide  # a plain command does without the day's questions

        raise typer.Exit(guide.open_day(guide.DayBook(*ctx.meta[PLACE])))


def main(words: Sequence[str], clock: Clock | None = None, by: str | None = None) -> int:
    """Run one command; return its exit code.

    Args:
        words: the command line without the program's name.
        clock: the present, where it is not the machine's (the demo's days).
        by: who is typing, where it is not the device's person.
    """
    plain_streams()
    gc.set_threshold(100_000)  # a command lives seconds, and builds many small rows

    def command() -> int:
        # Not by typer's own main, which changes how a closed pipe and Ctrl-C end.
        root = typer.main.get_command(app)
        code = 0
        try:
            line = _moved_to_front(list(words))
            with root.make_context("weldcal", line, obj=(clock, by)) as ctx:
                root.invoke(ctx)
        except typer.Exit as done:
            code = done.exit_code
        except GoBack:
            say(_("This is the first question. q leaves."))
            return command()
        sys.stdout.flush()
        return code

    with settings.screen_restored():
        return guarded(command)


def called(call: "Call", book: Book) -> int:
    """Run one command with values at hand, on an open book; return its exit code.

    Where somebody goes back from its first question, that of a command not done.
    """

    def command() -> int:
        ctx = typer.Context(typer.main.get_command(app), info_name="weldcal", obj=book)
        for name in call.command.split():
            ctx = _below(ctx, name)
        unnamed = getattr(ctx.command, "unnamed", None)
        ctx = _below(ctx, unnamed) if unnamed else ctx
        arguments.fill(ctx.command, ctx, arguments.given(ctx.command, ctx, call))
        code = 0
        try:
            with ctx:
                ctx.command.invoke(ctx)
        except typer.Exit as done:
            code = done.exit_code
        except GoBack:
            code = _NOT_DONE
        sys.stdout.flush()
        return code

    with settings.screen_restored():
        return guarded(command)


def _below(ctx: typer.Context, name: str) -> typer.Context:
    """The context of one command of a group."""
    group: Any = ctx.command
    return typer.Context(group.get_command(ctx, name), info_name=name, parent=ctx)


def guarded(run: Callable[[], int]) -> int:
    """What a run comes to: its exit code, or that of its refusal, which is printed in one line."""
    try:
        return run()
    except WeldcalError as error:
        rows = str(error).split("\n") if isinstance(error, LoadRefused) else [str(error)]
        return _refuse(rows[0], error.exit_code, rows[1:])
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except (EOFError, KeyboardInterrupt):
        return _refuse(_LEFT, 130)
    except Exception as error:
        return _other(error)


def run() -> None:
    """Entry point of the `weldcal` command."""
    if settings.completing():
        from weldcal.cli import complete

        sys.exit(complete.tab(app))
    sys.exit(main([settings.as_typed(word) for word in sys.argv[1:]]))


def _other(error: Exception) -> int:
    if os.environ.get("WELDCAL_DEBUG"):
        raise error
    return _refuse(
        _(
            "something went wrong inside ({what}). What was acknowledged before is safe; "
            "set WELDCAL_DEBUG=1 and type it again to see where.",
            what=f"{type(error).__name__}: {error}",
        ),
        2,
    )


def _refuse(sentence: str, code: int, rows: Sequence[str] = ()) -> int:
    """Say why not, on stderr: one line; a load's refused rows each on their own."""
    from weldcal.reports.lines import wrapped
    from weldcal.reports.show import safe

    sys.stdout.flush()
    messages = [f"weldcal: {safe(sentence)}", *(safe(row) for row in rows)]
    if sys.stderr.isatty():  # into a file, a refusal is one line
        messages = [wrapped(line) for line in messages]
    print("\n".join(messages), file=sys.stderr)
    return code


def _moved_to_front(words: list[str]) -> list[str]:
    """Options of the whole program count wherever they are typed."""
    front: list[str] = []
    rest: list[str] = []
    after = iter(words)
    for word in after:
        if word == "--":
            rest += [word, *after]
        elif word == "-h":
            rest.append("--help")
        elif word in _ANYWHERE:
            front += [word, *[value for value in [next(after, None)] if value is not None]]
        elif word.startswith(tuple(f"{name}=" for name in _ANYWHERE)):
            front.append(word)
        else:
            rest.append(word)
    return front + rest
