"""Plies: what the cap sheet hides of the ply below as it is laid, granules under its end laps.

Invariant: a side lap welded over a stretch means that the rows on either side of it lie there;
what of the ply below lies beneath is hidden from then on, and recorded so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.book.core import Note, Service
from weldcal.book.covering import Bounds, Covering, HiddenPiece
from weldcal.quality.coverage import SAME_PLACE_M, Stretch, minus, ordered
from weldcal.quality.layout import Rectangle
from weldcal.quality.leak import point_on
from weldcal.quality.outline import strips
from weldcal.records.fields import same_name
from weldcal.row_types.listed import SeamRow
from weldcal.rules.on_plan import Point
from weldcal.rules.on_plan import ends as ends_of

if TYPE_CHECKING:
    from weldcal.book.covering import Covering
    from weldcal.book.roof import SeamStates


class Plies(Service):
    """What a ply over another hides, as it is laid."""

    _covering: Covering
    _roof: SeamStates

    def beneath(self, seam: str, stretch: Stretch) -> tuple[str, Bounds] | None:
        """The area below a side lap of the next ply, and how far the rows beside it hide it.

        Args:
            seam: its name.
            stretch: of it, m.

        Returns:
            None where the lap is no side lap of a ply over another, or has no place.
        """
        listed = self._roof.seams()
        row = next((one for one in listed if one["seam_key"] == same_name(seam)), None)
        ends = ends_of(row) if row is not None and row["kind"] == "side lap" else None
        if row is None or ends is None:
            return None
        below = {same_name(area.letter): area.over for area in self._roof.laid_areas()}
        over = below.get(same_name(row["area"] or ""))
        if over is None:
            return None
        start, end = ends
        axis = 1 if abs(end[1] - start[1]) <= SAME_PLACE_M else 0  # the one across the lap
        along = [point_on(start, end, row["length_m"], at)[1 - axis] for at in stretch]
        band = self._rows_next_to(row["area"] or "", ends, listed, axis, ordered(*along))
        bands = {axis: band, 1 - axis: ordered(*along)}
        return over, Bounds(box=(bands[0], bands[1]))

    def _rows_next_to(
        self,
        area: str,
        lap: tuple[Point, Point],
        listed: list[SeamRow],
        axis: int,
        welded: Stretch,
    ) -> Stretch:
        """The two rows that a side lap joins: from the lap before it, or the edge, to the next.

        Rows run through the steps between rectangles, so the edge is that of all of them beside
        the stretch welded; where it steps there, the nearest counts.
        """
        along, at = 1 - axis, lap[0][axis]
        mine = strips(
            [
                spans if axis == 1 else spans[::-1]
                for laid in self._roof.laid_areas()
                if same_name(laid.letter) == same_name(area)
                for spans in [_spans(laid)]
            ]
        )
        edges = [
            edge
            for strip in mine
            if strip.low <= at <= strip.high
            and min(strip.over[1], welded[1]) - max(strip.over[0], welded[0]) > SAME_PLACE_M
            for edge in (strip.low, strip.high)
        ]
        reach = ordered(lap[0][along], lap[1][along])
        for other in listed:
            ends = ends_of(other) if other["kind"] == "side lap" else None
            if ends is None or same_name(other["area"] or "") != same_name(area):
                continue
            its = ordered(ends[0][along], ends[1][along])
            if min(its[1], reach[1]) - max(its[0], reach[0]) > SAME_PLACE_M:
                edges.append(ends[0][axis])
        low = max((edge for edge in edges if edge < at - SAME_PLACE_M), default=at)
        return low, min((edge for edge in edges if edge > at + SAME_PLACE_M), default=at)

    def below_note(self, seam: str) -> list[Note]:
        """What is not in order yet of the ply below, where a lap of the next one is begun.

        Args:
            seam: its name.
        """
        row = next((one for one in self._roof.seams() if one["seam_key"] == same_name(seam)), None)
        if row is None or row["length_m"] is None:
            return []
        found = self.beneath(seam, (0.0, row["length_m"]))
        first = self._covering.cover_first(self.not_hidden(*found)) if found else []
        if found is None or not first:
            return []
        seams = list(dict.fromkeys(one.seam for one in first))
        return [Note("below_not_clean", {"area": found[0], "seams": seams})]

    def not_hidden(self, area: str, bounds: Bounds) -> list[HiddenPiece]:
        """What of an area within bounds is not hidden yet.

        Args:
            area: the one below.
            bounds: how far it is hidden.
        """
        return [
            piece
            for piece in self._covering.cover_within(area, bounds)
            if minus([piece.stretch or (0.0, float("inf"))], piece.found["hidden"])
        ]


def _spans(area: Rectangle) -> tuple[Stretch, Stretch]:
    """A rectangle's stretches along x and y."""
    return (area.x_m, area.x_m + area.length_x_m), (area.y_m, area.y_m + area.length_y_m)
