"""What recording commands say back: a few plain lines, standard library only.

Invariant: no rich and no numpy here, so that recording a strip never waits.
"""

from __future__ import annotations

import shutil
import textwrap
from typing import Any

from weldcal.reports import sentences, show
from weldcal.words import _


def wrapped(text: str, columns: int | None = None) -> str:
    """`text` folded to the terminal's width; a list line's folds are indented."""
    columns = columns or min(shutil.get_terminal_size((80, 24)).columns, 100)
    indent = "  " if text.startswith(("- ", "! ")) else ""
    return textwrap.fill(text, max(columns, 20), subsequent_indent=indent, break_on_hyphens=False)


def notes(found: tuple[Any, ...], units: str) -> list[str]:
    """One line for each note of something recorded."""
    return [sentences.note(n.code, n.values, units) for n in found]


def recorded(what: str, name: str) -> str:
    """`Strip S3 recorded.`"""
    return _("{what} {name} recorded.", what=what, name=show.safe(name))
