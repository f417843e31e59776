"""Cover-up: which laps, or stretches of them, the next ply hides, and what must be done first.

Invariant: a cover-up hides no more than was said. What was not clean when it was hidden is
kept with it, and warned of until somebody answers.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book.core import Service
from weldcal.book.seams import SeamFound, end_lap_key
from weldcal.errors import Unheard
from weldcal.quality.coverage import SAME_PLACE_M, Stretch, minus, ordered, union
from weldcal.quality.doubt import in_doubt
from weldcal.quality.leak import along_within
from weldcal.records.fields import same_name
from weldcal.rules import on_plan
from weldcal.rules.on_seam import Tolerances
from weldcal.views.seam import First
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.limits import Limits
    from weldcal.book.roof import SeamStates


class Bounds(Struct, frozen=True):
    """How far a cover-up reaches: a stretch of the laps named, or a band of the plan; else all.

    Attributes:
        along: m from the zero end of each side lap; end laps come with their T-joints.
        axis: x or y, where `band` holds on the plan.
        box: a band of x and one of y.
    """

    along: Stretch | None = None
    axis: str | None = None
    band: Stretch | None = None
    box: tuple[Stretch, Stretch] | None = None

    @property
    def all(self) -> bool:
        """Whether nothing bounds it."""
        return self.along is None and self.band is None and self.box is None


class HiddenPiece(Struct, frozen=True):
    """A seam to be hidden: its row of the roof, and the stretch, None for all of it."""

    found: SeamFound
    stretch: Stretch | None


class Covering(Service):
    """What may be covered, and what must be probed, mended or cut first."""

    _doubting: Doubting
    _limits: Limits
    _roof: SeamStates

    def cover_list(self, what: str) -> list[SeamFound]:
        """The seams of an area (by their area, or the start of their name), of a range, or one.

        Args:
            what: an area, a range like A1-A4, or a seam, as typed.

        Raises:
            Unheard: there are none.
        """
        wanted = same_name(what)
        # Seams listed without an area go by how their names begin: A1 and A-d1, not Annex1.
        begins = re.compile(re.escape(wanted) + r"(\d.*|-.*)?")
        roof = self._roof.view()
        seams = [s for s in roof if _belongs(s, wanted, begins)]
        seams = seams or _ranged(roof, wanted)
        if not seams:
            areas = [s["seam"]["area"] for s in roof if s["seam"] and s["seam"]["area"]]
            known = ", ".join(dict.fromkeys(areas)) or _("no area; type how the seams' names begin")
            raise Unheard(what=_("seams of area"), text=what, known=known)
        return seams

    def cover_pieces(self, what: str, bounds: Bounds) -> list[HiddenPiece]:
        """The parts of the named seams that the next ply is to hide.

        Args:
            what: an area, a range or a seam, as typed.
            bounds: how far the cover-up reaches.

        Raises:
            Unheard: there are no such seams, or none of them lies within the bounds.
        """
        pieces = self.cover_within(what, bounds)
        if not pieces:
            known = ", ".join(seam["name"] for seam in self.cover_list(what)[:12])
            raise Unheard(what=_("laps within these bounds"), text=what, known=known)
        return pieces

    def cover_within(self, what: str, bounds: Bounds) -> list[HiddenPiece]:
        """As `cover_pieces`; none where no lap lies within the bounds.

        Args:
            what: an area, a range or a seam, as typed.
            bounds: how far the cover-up reaches.

        Raises:
            Unheard: there are no such seams.
        """
        seams = self.cover_list(what)
        if bounds.all:
            return [HiddenPiece(seam, None) for seam in seams]
        if bounds.along:
            return list(_along(seams, self._roof.view(), bounds.along))
        if bounds.box is not None:
            return list(_in_box(seams, {"x": bounds.box[0], "y": bounds.box[1]}))
        return list(_in_box(seams, {bounds.axis or "y": bounds.band or (0.0, 0.0)}))

    def cover_first(self, pieces: list[HiddenPiece]) -> list[First]:
        """What must be welded, mended or probed before these are hidden, and what is in doubt.

        Args:
            pieces: to be hidden.
        """
        doubtful = in_doubt(self._doubting.doubt().doubts)
        slack = self._limits.tolerances()
        return [
            first
            for piece in pieces
            for first in _first(piece, doubtful.get(same_name(piece.found["name"]), []), slack)
        ]


def _belongs(seam: SeamFound, area: str, begins: re.Pattern[str]) -> bool:
    listed = seam["seam"]["area"] if seam["seam"] else None
    if listed:
        return same_name(listed) == area
    return begins.fullmatch(same_name(seam["name"])) is not None


def _ranged(roof: list[SeamFound], wanted: str) -> list[SeamFound]:
    """`A1-A4`: those from one listed seam to another, by number; or one seam."""
    ends = re.fullmatch(r"(?P<a>\D*)(?P<low>\d+)(?:\s*-\s*(?P<b>\D*)(?P<high>\d+))?", wanted)
    if ends is None or ends["b"] not in (None, "", ends["a"]):
        return [seam for seam in roof if same_name(seam["name"]) == wanted]
    low, high = int(ends["low"]), int(ends["high"] or ends["low"])
    named = re.compile(re.escape(ends["a"]) + r"(\d+)[a-z]*(\..*)?")
    matched = ((seam, named.fullmatch(same_name(seam["name"]))) for seam in roof)
    return [seam for seam, match in matched if match and low <= int(match[1]) <= high]


def _along(seams: list[SeamFound], roof: list[SeamFound], bounds: Stretch) -> Iterator[HiddenPiece]:
    """Stretches of the side laps named, with the end laps and T-joints that lie there."""
    low, high = ordered(*bounds)
    within: set[str] = set()
    names = {same_name(side["name"]) for side in seams}
    for side in roof:
        seam = side["seam"]
        at = seam["joins_at_m"] if seam else None
        if seam and seam["joins"] in names and at is not None and low <= at <= high:
            within |= {seam["seam_key"], end_lap_key(seam)}
    for side in seams:
        seam = side["seam"]
        if seam is None or seam["kind"] in ("end lap", "T-joint"):
            if same_name(side["name"]) in within:
                yield HiddenPiece(side, None)
        elif seam["kind"] != "detail":
            length = seam["length_m"]
            far = high if length is None else min(high, length)
            if far > low:
                covers_all = low <= 0 and length is not None and far >= length
                yield HiddenPiece(side, None if covers_all else (max(0.0, low), far))


def _in_box(seams: list[SeamFound], bands: dict[str, Stretch]) -> Iterator[HiddenPiece]:
    """The parts of placed seams that lie between two lines of the plan, along x, y or both."""
    for lap in seams:
        seam, ends = lap["seam"], on_plan.ends(lap["seam"])
        if seam is None or ends is None:
            continue
        length = seam["length_m"] or math.dist(*ends)
        low, high = 0.0, length
        for axis, band in bands.items():
            start, end = (point["xy".index(axis)] for point in ends)
            one = along_within(start, end, length, ordered(*band))
            if one is None:
                break
            low, high = max(low, one[0]), min(high, one[1])
        else:
            if high - low > SAME_PLACE_M or length <= SAME_PLACE_M:
                yield HiddenPiece(lap, None if (low, high) == (0.0, length) else (low, high))


def _first(piece: HiddenPiece, doubtful: list[Stretch], slack: Tolerances) -> Iterator[First]:
    found, state, bounds = piece.found, piece.found["state"], piece.stretch
    name, seam = found["name"], found["seam"]
    length = seam["length_m"] if seam else None
    extent = bounds or ((0.0, length) if length is not None else None)
    if extent is None and not state.welded and not found["rows"].runs:
        yield First(name, "weld", None)
    runs = found["rows"].runs
    last = max((run["finished_utc"] or run["seen_utc"] for run in runs), default="")
    for low, high in minus([extent], state.welded, slack.at(last)) if extent else []:
        yield First(name, "weld", (low, high))
    places = {row["name"]: ordered(row["start_m"], row["end_m"]) for row in found["rows"].findings}
    for finding in state.open:
        if _clipped([places[finding]], bounds):
            yield First(name, "mend", places[finding], finding)
    for again in state.again:
        for stretch in _clipped(list(again.stretches), bounds):
            yield First(name, "probe_again", stretch, again.finding)
    for stretch in _clipped(list(state.unprobed), bounds):
        yield First(name, "probe", stretch)
    for stretch in _clipped(doubtful, bounds):
        yield First(name, "doubt", stretch)


def _clipped(stretches: list[Stretch], bounds: Stretch | None) -> list[Stretch]:
    """The parts of stretches within bounds; a point on them counts."""
    if bounds is None:
        return union(stretches)
    low, high = bounds
    return [(max(a, low), min(b, high)) for a, b in union(stretches) if a <= high and b >= low]
