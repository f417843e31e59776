"""Names of seams, short enough to chalk on the sheet.

Invariant: a name once given never goes to another seam; numbers go on from the
highest already used.

    A3     side lap between rows 3 and 4 of area A
    A3b    the same, in the other leg of a U (A3c in a third)
    A3.2   second end lap of row 3
    A3.2t  where that end lap meets the side lap of its own row (A3)
    A3.2u  where it meets the side lap of the row before (A2)
    A-j1   lap where a rectangle abuts one laid before it, or one of another area
    A-d1   a detail, welded by hand
"""

from __future__ import annotations

import re
from collections.abc import Collection


class ChalkNames:
    """Numbers that go on from the highest used; names that differ only in case are one name."""

    def __init__(self, taken: Collection[str] = ()) -> None:
        self._taken = [name.strip().casefold() for name in taken]
        self._rows: dict[str, int] = {}
        self._last: dict[tuple[str, str], int] = {}

    def first_row(self, letter: str) -> int:
        """The number of the next row of an area."""
        key = letter.casefold()
        if key in self._rows:
            return self._rows[key] + 1
        used = self._highest(re.escape(key) + r"(\d+)[a-z]*(?:\..*)?")
        # A row lies beyond the last side lap, and may have no name of its own.
        return used + 2 if used else 1

    def rows_to(self, letter: str, number: int) -> None:
        """Note that an area's rows go up to `number`."""
        self._rows[letter.casefold()] = number

    def next(self, letter: str, sort: str) -> str:
        """The next name of a sort: "j" a lap between rectangles, "d" a detail."""
        key = letter.casefold(), sort
        if key not in self._last:
            self._last[key] = self._highest(re.escape(f"{key[0]}-{sort}") + r"(\d+)")
        self._last[key] += 1
        return f"{letter}-{sort}{self._last[key]}"

    def _highest(self, pattern: str) -> int:
        matches = (re.fullmatch(pattern, name) for name in self._taken)
        return max((int(match[1]) for match in matches if match), default=0)


def side_lap_name(letter: str, row: int, nth: int) -> str:
    """The name of a side lap beyond a row.

    Args:
        letter: of the area.
        row: its number.
        nth: which of the laps beyond that row, from 0: more than one where the outline parts it.
    """
    part = ""
    while nth:
        nth, sign = divmod(nth - 1, 25)
        part = chr(ord("b") + sign) + part
    return f"{letter}{row}{part}"
