"""Help pages: what a command does, an example to copy, its arguments and options.

Invariant: every word passes through `_` when it is shown, docstrings too, one
paragraph a message; nothing is loaded before somebody asks. Plain text, folded
to the screen: no boxes, no colour.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from weldcal import settings
from weldcal.reports import lines
from weldcal.words import _

_NARROW = 60
# A text's last `Example: weldcal ...`, whatever the label is in the reader's language.
_EXAMPLE = re.compile(r"(?P<text>.*?)\s*(?P<label>\S+): (?P<line>weldcal\b(?:(?!: weldcal\b).)*)")


class HelpText(Struct, frozen=True):
    """What a command's help says: its text, and a line to copy with its label."""

    text: str
    example: str | None = None
    label: str = ""

    @property
    def short(self) -> str:
        """The first sentence."""
        head, dot, _rest = self.text.partition(". ")
        return head + dot.strip()


def help_text(command: Any) -> HelpText:
    """A command's help in the reader's language, the example apart."""
    text, example, label = [], None, ""
    for paragraph in re.split(r"\n\s*\n", command.help or ""):
        shown = _(" ".join(paragraph.split()))
        if found := _EXAMPLE.fullmatch(shown):
            shown, example, label = found["text"], found["line"].strip(), found["label"]
        text += [shown] if shown else []
    return HelpText("\n\n".join(text), example, label)


def example(command: Any, ctx: Any) -> str | None:
    """A line to copy: the command's own, else of the first command of its group; none on the first page."""
    own = help_text(command).example
    if own is not None or not hasattr(command, "list_commands") or hasattr(command, "by_person"):
        return own
    return next((help_text(one).example for _name, one in commands(command, ctx)), None)


def commands(group: Any, ctx: Any) -> Iterator[tuple[str, Any]]:
    """The commands of a group, with their names."""
    for name in group.list_commands(ctx):
        yield name, group.get_command(ctx, name)


def page(command: Any, ctx: Any) -> str:
    """The whole page of a command."""
    about = help_text(command)
    parts = [_usage(command, ctx), *(lines.wrapped(text) for text in about.text.split("\n\n"))]
    shown = example(command, ctx)
    if shown is not None:
        label = about.label or _("Example")
        parts.append(f"{label}:\n{_indented(shown)}")
    arguments, options = parameters(command, ctx)
    if arguments:
        parts.append(_section(_("Arguments:"), arguments))
    for title, names in sections(command, ctx):
        rows = [(name, help_text(command.get_command(ctx, name)).short) for name in names]
        parts.append(_section(title, rows))
    parts.append(_section(_("Options:"), options))
    if command.epilog:
        parts.append(lines.wrapped(_(command.epilog)))
    return "\n\n".join(part for part in parts if part)


def sections(command: Any, ctx: Any) -> list[tuple[str, list[str]]]:
    """The headings a group's commands stand under: by person on the first page."""
    if not hasattr(command, "list_commands"):
        return []
    if hasattr(command, "by_person"):
        return [(_("{person}:", person=_(who)), names) for who, names in command.by_person()]
    return [(_("Commands:"), command.list_commands(ctx))]


def parameters(command: Any, ctx: Any) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Arguments and options: how each is typed, and what it means."""
    arguments, options = [], []
    for param in command.get_params(ctx):
        if param.param_type_name == "argument":
            arguments.append((typed(param), _noted(param, param.required)))
        elif "--help" in param.opts:
            options.append(("--help", _("Show this message and exit.")))
        else:
            options.append((typed(param), _noted(param, False)))
    return arguments, options


def typed(param: Any) -> str:
    """How a parameter is typed: NAME, `--json`, `--by VALUE`."""
    if param.param_type_name == "argument":
        return _(param.name.upper())
    name = ", ".join(param.opts)
    return name if param.is_flag else _("{option} VALUE", option=name)


def _noted(param: Any, required: bool) -> str:
    notes = [_(param.help or "")] if param.help else []
    if required:
        notes.append(_("[required]"))
    if getattr(param, "multiple", False):
        notes.append(_("[may be given again]"))
    if isinstance(param.default, str):
        notes.append(_("[default: {value}]", value=_(param.default)))
    return "  ".join(notes)


def _usage(command: Any, ctx: Any) -> str:
    pieces = [ctx.command_path, _("[OPTIONS]")]
    pieces += [
        typed(param) if param.required else f"[{typed(param)}]"
        for param in command.get_params(ctx)
        if param.param_type_name == "argument"
    ]
    if hasattr(command, "list_commands"):
        pieces.append(_("COMMAND"))
    return lines.wrapped(_("Usage: {line}", line=" ".join(pieces)))


def _section(title: str, rows: list[tuple[str, str]]) -> str:
    """A heading over names and what they mean: side by side, beneath on a narrow screen, or a sentence each."""
    if settings.linear():
        sentences = (
            _("{name}: {text}", name=name, text=text) if text else name for name, text in rows
        )
        return "\n".join([title, *map(lines.wrapped, sentences)])
    wide = max((len(name) for name, _text in rows), default=0) + 4
    beneath = lines.columns() < _NARROW
    indent = " " * (6 if beneath else wide)
    out = [title]
    for name, text in rows:
        first = indent if beneath else f"  {name}".ljust(wide)
        out += [f"  {name}"] if beneath else []
        out.append(
            textwrap.fill(
                text,
                lines.columns(),
                initial_indent=first,
                subsequent_indent=indent,
                break_on_hyphens=False,
            )
        )
    return "\n".join(out)


def _indented(text: str) -> str:
    if settings.linear():
        return lines.wrapped(text)
    return textwrap.fill(
        text, lines.columns(), initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
    )
