"""A number in large digits, or a word to stop by, to be read across a roof in sun.

Invariant: every part of a digit is a whole character, full or empty, so that it reads
without colour and without grey; what fits no shape, or no screen, is not drawn at all.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from weldcal import settings

ROWS = 5  # of a digit at its smallest
LARGEST = 3
# Our own shapes, a sign a point. A comma is longer than a full stop.
_SHAPES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("#  ", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "  #"),
    ".": (" ", " ", " ", " ", "#"),
    ",": (" ", " ", " ", "#", "#"),
    # What STOP and WAIT, and their Spanish, are spelt with; O and S are not 0 and 5.
    "A": (" # ", "# #", "###", "# #", "# #"),
    "E": ("###", "#  ", "## ", "#  ", "###"),
    "I": ("###", " # ", " # ", " # ", "###"),
    "O": (" # ", "# #", "# #", "# #", " # "),
    "P": ("## ", "# #", "## ", "#  ", "#  "),
    "R": ("## ", "# #", "## ", "# #", "# #"),
    "S": (" ##", "#  ", " # ", "  #", "## "),
    "T": ("###", " # ", " # ", " # ", " # "),
    "W": ("#   #", "#   #", "# # #", "# # #", " # # "),
}


def drawn(number: str, texts: Sequence[str], columns: int, rows: int) -> list[str]:
    """A number as large as fits, with a few words to its right; nothing where it does not fit.

    Args:
        number: digits, with a decimal mark at most; or a word, where all its letters have a shape.
        texts: up to five short texts, one below the other.
        columns, rows: the room there is.
    """
    if not number or any(sign not in _SHAPES for sign in number):
        return []
    words = max(map(len, texts), default=0)
    for size in range(LARGEST, 0, -1):
        lines = _enlarged(number, size)
        if len(lines) <= rows and len(lines[0]) + 3 + words <= columns:
            return _with_words(lines, texts, size)
    return []


def _enlarged(number: str, size: int) -> list[str]:
    """The number's lines; a character is about twice as high as wide, so a point is two of them."""
    full = "█" if settings.knows_all(sys.stdout) else "#"
    lines = []
    for row in range(ROWS):
        points = " ".join(_SHAPES[sign][row] for sign in number)
        line = "".join((full if point == "#" else " ") * 2 * size for point in points)
        lines += [line] * size
    return lines


def _with_words(lines: list[str], texts: Sequence[str], size: int) -> list[str]:
    """The lines with the words right of them, spread over the height."""
    by_row = dict(zip(range(0, len(lines), size * 2), texts, strict=False))
    return [
        f"{line}   {by_row[n]}" if n in by_row else line.rstrip() for n, line in enumerate(lines)
    ]
