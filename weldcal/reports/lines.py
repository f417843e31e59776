"""What recording commands say back: a few plain lines, standard library only.

Invariant: no rich and no numpy here, so that recording a strip never waits.
"""

from __future__ import annotations

import re
import shutil
import textwrap
from typing import Any

from weldcal.reports import show
from weldcal.words import _, number

_WITH_UNIT = re.compile(
    r"(?<=\d) (?=(?:°[FC]|(?:ft|pies|m)/min|m/s|mph|mi/h|ft|pies|in|pulg|mm|m|%|V|min|h)\b|%)"
)


def columns() -> int:
    """How wide the screen is, for reading."""
    return max(20, min(shutil.get_terminal_size((80, 24)).columns, 100))


def wrapped(text: str, width: int | None = None) -> str:
    """`text` folded to the terminal's width; a number stays with its unit, a list's folds are indented."""
    indent = "  " if text.startswith(("- ", "! ")) else ""
    held = _WITH_UNIT.sub("\u00a0", text)
    folded = textwrap.fill(
        held, width or columns(), subsequent_indent=indent, break_on_hyphens=False
    )
    return folded.replace("\u00a0", " ")


def dial_span(machine: dict[str, Any]) -> str:
    """What a machine's dial shows: `1–20 ft/min`, `0–10`."""
    span = f"{number(machine['dial_low'], 'g')}–{number(machine['dial_high'], 'g')}"
    return span if machine["dial"] == "mark" else f"{span} {show.unit(machine['dial'])}"


def notes(found: tuple[Any, ...], units: str) -> list[str]:
    """One line for each note of something recorded."""
    from weldcal.reports import sentences  # only where there is something to tell

    return [sentences.note(n.code, n.values, units) for n in found]


def recorded(what: str, name: str) -> str:
    """`Strip S3 recorded.`"""
    return _("{what} {name} recorded.", what=what, name=show.safe(name))
