"""The page of all commands, made from the program itself.

Invariant: it says what `--help` says, nothing of its own.

    python -m weldcal.cli.reference > docs/commands.md
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer

from weldcal.cli import help as pages
from weldcal.cli.main import app
from weldcal.words import _


def page() -> str:
    """All commands in Markdown, by the person they are for."""
    root: Any = typer.main.get_command(app)
    ctx = typer.Context(root, info_name="weldcal")
    out = [
        f"# {_('Commands')}",
        _("Made from the program: python -m weldcal.cli.reference > docs/commands.md"),
        pages.help_text(root).text,
        _("Options that count anywhere on the line:"),
        _table(pages.parameters(root, ctx)[1]),
    ]
    for person, names in root.by_person():
        out.append(f"## {_(person)}")
        for name in names:
            out += _entry(
                root.get_command(ctx, name), typer.Context(root, info_name="weldcal"), name
            )
    return "\n\n".join(out) + "\n"


def _entry(command: Any, parent: Any, name: str) -> Iterator[str]:
    """A command, then those of its group."""
    ctx = typer.Context(command, info_name=name, parent=parent)
    about = pages.help_text(command)
    yield f"### {ctx.command_path}"
    yield about.text
    if about.example:
        yield f"    {about.example}"
    arguments, options = pages.parameters(command, ctx)
    rows = [*arguments, *(row for row in options if row[0] != "--help")]
    if rows:
        yield _table(rows)
    if hasattr(command, "list_commands"):
        for below in command.list_commands(ctx):
            yield from _entry(command.get_command(ctx, below), ctx, below)


def _table(rows: list[tuple[str, str]]) -> str:
    head = [f"| {_('Typed')} | {_('What it is')} |", "|---|---|"]
    return "\n".join(
        [*head, *(f"| `{name}` | {text.replace('|', chr(92) + '|')} |" for name, text in rows)]
    )


if __name__ == "__main__":
    print(page(), end="")
