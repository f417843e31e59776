"""What recording commands print: a few plain lines, standard library only.

Invariant: no rich and no numpy here, so that recording a strip never waits.
"""

from __future__ import annotations

import re
import sys
import textwrap
from collections.abc import Sequence

from weldcal import settings
from weldcal.reports import show
from weldcal.row_types.listed import MachineRow
from weldcal.views.note import Note
from weldcal.words import _, number

# Compiled by their first use: what a recording says back mostly fits its line.
_WITH_UNIT = (
    r"(?<=\d) (?=(?:°[FC]|(?:ft|pies|m)/min|m/s|mph|mi/h|ft|pies|in|pulg|mm|m|%|V|min|h)\b|%)"
)
# `6 1/4 in` on two lines would read as 6, and as 1/4 in.
_MIXED = r"(?<![\d/])(\d+) (?=\d+/\d+ (?:in|pulg)\b)"


def columns() -> int:
    """How wide the screen is, for reading."""
    return min(settings.screen_columns(), 100)


def wrapped(text: str, width: int | None = None) -> str:
    """`text` folded to the terminal's width; a number stays with its unit, a list's folds are indented.

    A word longer than the line stays whole, so that a file's path can be copied from the screen.
    For a screen reader it is spoken text first.
    """
    if settings.linear():
        text = spoken(text)
    width = width or columns()
    if len(text) <= width and text.isprintable() and not text.endswith(" "):
        return text  # most lines fit: nothing to fold, and no other space in them
    indent = "  " if text.startswith(("- ", "! ")) else ""
    joined = re.sub(_WITH_UNIT, "\u00a0", re.sub(_MIXED, "\\1\u00a0", text))
    joined = show.safe_lines(joined)
    folded = textwrap.fill(
        joined, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )
    return folded.replace("\u00a0", " ")


def on_screen(text: str) -> str:
    """`text` folded on a terminal; as it is into a pipe, where a row is a line."""
    return wrapped(text) if sys.stdout.isatty() else show.safe_lines(text)


def prompt(question: str, room: int = 8) -> str:
    """A question for `input`: folded, its last line with `room` for the answer."""
    if len(question) <= columns() - room:
        return question
    return f"{wrapped(question.rstrip())}\n{answer_here()}"


def answer_here() -> str:
    """What stands before an answer on a line of its own."""
    return _("Answer: ") if settings.linear() else "> "


_SPAN = r"([^\s–]*\d)–(\d[^\s–]*)"
_LONE_DASH = r"(?<!\S)–(?![^\s,;.\])])"


def spoken(text: str) -> str:
    """`text` without what only the eye reads: bullets, padding, dashes for a span or for nothing."""
    if text.startswith("! "):
        text = _("Note: {text}", text=text[2:])
    text = re.sub(r" {2,}", " ", text.removeprefix("- ")).strip(" ")
    text = re.sub(_SPAN, lambda m: _("{low} to {high}", low=m[1], high=m[2]), text)
    return re.sub(_LONE_DASH, _("not given"), text)


def dial_span(machine: MachineRow) -> str:
    """What a machine's dial shows: `1–20 ft/min`, `0–10`."""
    span = f"{number(machine['dial_low'], 'g')}–{number(machine['dial_high'], 'g')}"
    return span if machine["dial"] == "mark" else f"{span} {show.unit(machine['dial'])}"


def notes(items: Sequence[Note], units: str) -> list[str]:
    """One line for each note of something recorded."""
    if not items:
        return []
    from weldcal.reports import sentences

    return [sentences.note(n.code, n.values, units) for n in items]


def recorded(what: str, name: str) -> str:
    """`Strip S3 recorded.`"""
    return _("{what} {name} recorded.", what=what, name=show.safe(name))
