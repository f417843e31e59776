"""Where to look for a leak: the laps of the roof it was seen on, by the evidence against them.

Invariant: nothing is judged here but by `quality.leak`; a lap that lies nowhere on the plan is
not looked for.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.quality.coverage import Stretch, ordered
from weldcal.quality.doubt import Doubt, in_doubt
from weldcal.quality.leak import INSIDE, ON_ROOF, LapFacts, Search, places_of, search
from weldcal.quality.sheets import Rectangle
from weldcal.row_types.listed import SeamRow
from weldcal.row_types.site import LeakRow
from weldcal.rules import on_plan
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.doubting import Doubting
    from weldcal.book.job_reader import JobReader
    from weldcal.book.roof import SeamStates
    from weldcal.book.seams import SeamFound

# Which way is up where water runs that way.
UPHILL = {"x+": (-1.0, 0.0), "x-": (1.0, 0.0), "y+": (0.0, -1.0), "y-": (0.0, 1.0)}


class Leaking(Service):
    """Where to look for leaks."""

    _reader: JobReader
    _doubting: Doubting
    _roof: SeamStates

    def leak(self, name: str) -> LeakRow:
        """A reported leak.

        Args:
            name: like K1.

        Raises:
            Unheard: there is no such record.
            Misplaced: the name is not of a leak.
        """
        return self._reader.find_in(LeakRow, name, _("a leak has a name like K1"))

    def order(self, name: str, slope: str | None) -> Search:
        """Where to look for a reported leak: every place of the roof it was seen on, ranked.

        Args:
            name: of the leak, like K1.
            slope: which way water runs: x+, x-, y+ or y-; as its area is laid, where not given.

        Raises:
            Unheard, Misplaced: as `leak`.
        """
        leak = self.leak(name)
        return _order(self._roof, leak, self._doubting.doubt().doubts, slope)


def _order(roof: SeamStates, leak: LeakRow, doubts: Iterable[Doubt], slope: str | None) -> Search:
    """Every place of the roof that a leak was seen on, ranked.

    Args:
        roof: of the job.
        leak: its row.
        doubts: what failures put in doubt.
        slope: which way water runs: x+, x-, y+ or y-; as its area is laid, where not given.
    """
    doubtful = in_doubt(doubts)
    laps = [
        _lap_facts(found, seam, ends, doubtful)
        for found in roof.view()
        if (seam := found["seam"]) and (ends := on_plan.ends(seam))
    ]
    spot, areas = (leak["x_m"], leak["y_m"]), roof.laid_areas()
    part: list[Rectangle] = []
    mine = laps
    if areas:
        from weldcal.quality import shapes  # not before there is a plan

        part = shapes.roof_of(areas, spot)
        mine = [lap for lap in laps if shapes.lies_on(part, lap.start, lap.end)]
        slope = slope or shapes.area_at(part, spot).slope
    found = search(
        spot,
        [place for lap in mine for place in places_of(lap)],
        seen=INSIDE if leak["where"] == "inside" else ON_ROOF,
        upslope=UPHILL[slope] if slope else None,
    )
    letters = tuple(dict.fromkeys(area.letter for area in part))
    return replace(found, roof=letters, elsewhere=len(laps) - len(mine))


def _lap_facts(
    seam_found: SeamFound,
    seam: SeamRow,
    ends: tuple[on_plan.Point, on_plan.Point],
    doubtful: dict[str, list[Stretch]],
) -> LapFacts:
    """A lap on the plan with what its record holds against it."""
    state, flags = seam_found["state"], seam_found["flags"]
    findings = seam_found["rows"].findings
    applies = {
        "warned": "warned" in flags,
        "detail": seam["kind"] == "detail",
        "t_joint": seam["kind"] == "T-joint",
        "self_probed": "probed by its operator" in flags,
    }
    hidden = "covered unprobed" in flags
    length = seam["length_m"]
    return LapFacts(
        name=seam_found["name"],
        start=ends[0],
        end=ends[1],
        length_m=length,
        open=tuple(
            (f["name"], *ordered(f["start_m"], f["end_m"]))
            for f in findings
            if f["name"] in state.open
        ),
        mended=tuple(one for again in state.again for one in again.stretches),
        unprobed=state.unprobed or (((0.0, length),) if hidden and length else ()),
        in_doubt=tuple(doubtful.get(seam["seam_key"], ())),
        of_all=frozenset(code for code, true in applies.items() if true),
    )
