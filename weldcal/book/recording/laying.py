"""Laying a roof out: the seam list made from the area, and recorded.

Invariant: seams that exist are never renumbered; new ones take names nobody has.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.book.laying import plies_of
from weldcal.errors import BadLayout
from weldcal.quality.layout import (
    Below,
    Flag,
    LapToWeld,
    Rectangle,
    Rolls,
    RoofLayout,
    RoofPoint,
    lay,
    with_water,
)
from weldcal.quantities import Quantity, in_metres
from weldcal.records.fields import same_name
from weldcal.records.job import Area as AreaRecord
from weldcal.records.seam import Plan, Seam
from weldcal.row_types.listed import SeamRow
from weldcal.rules.on_plan import ends as ends_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.laying import Laying
    from weldcal.book.limits import Limits
    from weldcal.book.recording.seams import SeamRecorder
    from weldcal.book.roof import SeamStates


class LayRecorder(Service):
    """Lists the laps of an area as laid out."""

    _reader: JobReader
    _laying: Laying
    _limits: Limits
    _roof: SeamStates
    _seam_recorder: SeamRecorder

    def lay(
        self,
        areas: Sequence[Rectangle],
        rolls: Rolls,
        *,
        along: str | None,
        start: str | None,
        slope: str | None,
        surface: str | None,
        stagger: Quantity,
        marks: Sequence[RoofPoint],
        record: bool,
        by: str | None = None,
        over: str | None = None,
    ) -> RoofLayout:
        """Lay areas out and list their seams.

        Args:
            along, start: as chosen; None: so that laps lie with the water.
            slope: which way water runs on these areas; None where nobody said.
            surface: what end laps are welded onto: granules, sand or film; None: not said.
            over: the area that these are laid over, as the next ply; None for the first ply.

        Raises:
            BadLayout: a length or lap that cannot be; an area that would lie on another.
        """
        pattern = replace(with_water(slope, along, start), stagger_m=stagger.si("m"))
        areas = [replace(area, slope=slope) for area in areas]
        seams, below = self._roof.seams(), None
        taken = [row["name"] for row in seams]
        before = self._roof.laid_areas()
        if over is not None:
            areas, below = self._next_ply(areas, over, before, seams)
        plies = plies_of([*before, *areas])
        mine = plies[same_name(areas[0].letter)] if areas else 1
        before = [area for area in before if plies[same_name(area.letter)] == mine]
        self._refuse_overlaps(areas, before)
        try:
            laid = lay(areas, rolls, pattern, marks, taken=taken, neighbours=before, below=below)
        except ValueError as error:
            raise BadLayout(why=str(error)) from None
        if surface is None and any(lap.kind == "end lap" for lap in laid.laps):
            laid = replace(laid, flags=(*laid.flags, Flag("surface_not_said", {})))
        if record:
            over = surface or "sand"
            self._seam_recorder.add_seams(_seams(laid, over), by, [_area(area) for area in areas])
        return laid

    def _next_ply(
        self,
        areas: Sequence[Rectangle],
        over: str,
        before: Sequence[Rectangle],
        seams: list[SeamRow],
    ) -> tuple[list[Rectangle], Below]:
        """Areas as the ply over another, and the laps that theirs keep off.

        Raises:
            Unheard: no such area is laid out.
            BadLayout: a name that an area of another ply has, or a part that lies beyond it.
        """
        under = self._laying.over_area("", over)
        name = under[0].over or over
        _refuse_ply(areas, name, under, before)
        limits = self._limits.limits()
        below = Below(
            tuple(_laps_of(seams, name)),
            limits["ply_offset_side"].value.si("m"),
            limits["ply_offset_end"].value.si("m"),
        )
        return [replace(area, over=name) for area in areas], below

    def _refuse_overlaps(self, areas: Sequence[Rectangle], before: Sequence[Rectangle]) -> None:
        """Refuse an area that would lie on another: one roof is not laid twice in one ply.

        Raises:
            BadLayout: names a place where it would fit.
        """
        if len(areas) + len(before) < 2:
            return
        from weldcal.quality import shapes  # not before there are two

        for n, area in enumerate(areas):
            others = [*before, *areas[:n]]
            for other in others:
                if shapes.overlap_m2(area, other) <= _TOUCHING_M2:
                    continue
                free = max(one.x_m + one.length_x_m for one in others)
                raise BadLayout(
                    why=_(
                        "{area} would lie on {other}. Say where it lies, like: {example}; or that it is the next ply: --over {other}",
                        area=area.letter,
                        other=other.letter,
                        example=self._at(area, free, other.y_m),
                    )
                )

    def _at(self, area: Rectangle, x_m: float, y_m: float) -> str:
        """An area as it is typed, at a place."""
        unit = "ft" if self._reader.job.units == "us" else "m"
        size_x, size_y, x, y = (
            f"{value / 0.3048 if unit == 'ft' else value:.4g}{unit}"
            for value in (area.length_x_m, area.length_y_m, x_m, y_m)
        )
        return f'"{area.letter} {size_x} x {size_y} at {x},{y}"'


# Areas typed in feet and inches touch to less than this, m².
_TOUCHING_M2 = 1e-2


def _laps_of(seams: Sequence[SeamRow], area: str) -> Iterator[LapToWeld]:
    """The laps by machine of an area that have a place on the plan."""
    for row in seams:
        ends, mine = ends_of(row), row["area"]
        if mine is None or same_name(mine) != same_name(area) or ends is None:
            continue
        if row["kind"] in ("side lap", "end lap"):
            yield LapToWeld(row["name"], row["kind"], mine, *ends, row["length_m"])


def _seams(laid: RoofLayout, end_laps_over: str) -> list[Seam]:
    seams = [
        Seam(
            name=lap.name,
            kind=lap.kind,
            area=lap.area,
            lap=end_laps_over if lap.kind == "end lap" else "selvage",
            length=in_metres(lap.length_m) if lap.length_m is not None else None,
            plan=_plan(lap.start, lap.end),
            place=lap.at,
        )
        for lap in laid.laps
    ]
    areas = {lap.name: lap.area for lap in laid.laps}
    joints = [
        Seam(
            name=j.name,
            kind="T-joint",
            area=areas[j.end_lap],
            plan=_plan(j.place, j.place),
            place=j.side_lap,
            joins=j.side_lap,
            joins_at=in_metres(j.at_m),
        )
        for j in laid.t_joints
    ]
    return seams + joints


def _area(area: Rectangle) -> AreaRecord:
    return AreaRecord(
        name=area.letter,
        length=in_metres(area.length_x_m),
        width=in_metres(area.length_y_m),
        x=in_metres(area.x_m),
        y=in_metres(area.y_m),
        slope=area.slope,
        over=area.over,
    )


def _plan(start: tuple[float, float], end: tuple[float, float]) -> Plan:
    x0, y0, x1, y1 = (in_metres(value) for value in (*start, *end))
    return Plan(x0=x0, y0=y0, x1=x1, y1=y1)


def _refuse_ply(
    areas: Sequence[Rectangle], name: str, under: Sequence[Rectangle], before: Sequence[Rectangle]
) -> None:
    """Refuse areas as the ply over another where they cannot be.

    Args:
        areas: of the ply.
        name: of what they lie over; under: its parts.
        before: laid out already.

    Raises:
        BadLayout: a name that an area of another ply has, or a part that lies beyond what is under.
    """
    from weldcal.quality import shapes

    others = {same_name(area.letter): area.over for area in before}
    for area in areas:
        if others.get(same_name(area.letter), name) != name:
            raise BadLayout(
                why=_(
                    "{area} is the name of another area: give the ply a name of its own, like K",
                    area=area.letter,
                )
            )
        if not shapes.within(area, under):
            raise BadLayout(
                why=_(
                    "{area} would reach beyond {other}, which it lies over",
                    area=area.letter,
                    other=name,
                )
            )
