"""Laying a roof out: the seam list made from the area, and recorded.

Invariant: seams that exist are never renumbered; new ones take names nobody has.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.errors import Unheard
from weldcal.quality.layout import (
    Rectangle,
    Rolls,
)
from weldcal.quantities import Quantity
from weldcal.records.fields import folded, same_name
from weldcal.row_types.listed import SheetRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.roof import SeamStates
    from weldcal.book.strips import Strips


class Laying(Service):
    """Rolls and surfaces that a layout of laps needs."""

    _reader: JobReader
    _roof: SeamStates
    _strips: Strips

    def rolls(
        self,
        sheet: str,
        *,
        width: Quantity | None,
        length: Quantity | None,
        side_lap: Quantity,
        end_lap: Quantity,
        least_piece: Quantity,
    ) -> Rolls | None:
        """The sheet's roll as given, else as listed; None where nobody said.

        Args:
            sheet: its name.
            width, length: of a roll; as the sheet is listed, where not given.
            side_lap, end_lap: how much laps overlap.
            least_piece: the shortest piece that may be cut of a roll.
        """
        listed = self._sheets_named(sheet)
        width_mm = listed[0]["roll_width_mm"] if listed else None
        width_m = width.si("m") if width else width_mm / 1000 if width_mm else None
        long_m = listed[0]["roll_length_m"] if listed else None
        length_m = length.si("m") if length else long_m
        if width_m is None or length_m is None:
            return None
        return Rolls(width_m, length_m, side_lap.si("m"), end_lap.si("m"), least_piece.si("m"))

    def surface_of(self, sheet: str) -> str | None:
        """What the face of a sheet is, as its name and description say: granules, sand or film.

        Args:
            sheet: its name.
        """
        listed = self._sheets_named(sheet)
        description = folded(
            " ".join(f"{row['name']} {row['description'] or ''}" for row in listed)
        )
        return next(
            (face for face, words in _FACES.items() if any(w in description for w in words)), None
        )

    def _sheets_named(self, name: str) -> list[SheetRow]:
        return self._reader.of_job(SheetRow, "AND name = ?", name)

    def plies(self) -> dict[str, int]:
        """The ply that each area laid out is of, by key."""
        return plies_of(self._roof.laid_areas())

    def over_area(self, letter: str, over: str) -> list[Rectangle]:
        """All of an area, to be laid over as the next ply.

        Args:
            letter: of the area that lies over it.
            over: the letter of the area laid before.

        Raises:
            Unheard: no such area is laid out.
        """
        before = self._roof.laid_areas()
        found = [area for area in before if same_name(area.letter) == same_name(over)]
        if not found:
            known = ", ".join(dict.fromkeys(area.letter for area in before)) or _("none yet")
            raise Unheard(what=_("area laid out"), text=over, known=known)
        return [replace(area, letter=letter, over=found[0].letter) for area in found]

    def last_speed(self) -> float | None:
        """The travel speed of the newest go-ahead, m/min."""
        for strip in reversed(self._strips.strips()):
            if not strip["shortfalls"]:
                speed = strip["true_speed_m_per_min"] or strip["speed_m_per_min"]
                return float(speed) if speed else None
        return None


# What people call a sheet's face, in English and Spanish, accents dropped (common practice,
# no source); the first that a description holds counts.
_FACES = {
    "granules": ("granul", "mineral", "cap sheet", "capa final"),
    "sand": ("sand", "arena"),
    "film": ("film", "poly-film", "pelicula", "smooth", "lisa"),
}


def plies_of(areas: Sequence[Rectangle]) -> dict[str, int]:
    """The ply that each area is of, by key: 1 for the first, one more than what it lies over.

    Args:
        areas: in the order laid.
    """
    found: dict[str, int] = {}
    for area in areas:  # what lies below was laid before
        below = found.get(same_name(area.over), 1) if area.over else 0
        found.setdefault(same_name(area.letter), below + 1)
    return found
