"""Laying a roof out: the seam list made from the area, and recorded.

Invariant: seams that exist are never renumbered; new ones take names nobody has.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from weldcal.book.foreman import Foreman
from weldcal.quality.layout import Area, Layout, Mark, Pattern, Rolls, lay
from weldcal.quantities import Quantity
from weldcal.records.job import Area as AreaRecord
from weldcal.records.seam import Plan, Seam


class Laying(Foreman):
    """The verb `lay`."""

    def rolls(
        self,
        sheet: str,
        *,
        width: Quantity | None,
        length: Quantity | None,
        side_lap: Quantity,
        end_lap: Quantity,
    ) -> Rolls | None:
        """The sheet's roll as given, else as listed; None where nobody said."""
        rows = self.rows("SELECT * FROM sheets WHERE job = ? AND name = ?", (self.job.id, sheet))
        row = rows[0] if rows else {}
        listed = row.get("roll_width_mm")
        width_m = width.si("m") if width else listed / 1000 if listed else None
        length_m = length.si("m") if length else row.get("roll_length_m")
        if width_m is None or length_m is None:
            return None
        return Rolls(width_m, length_m, side_lap.si("m"), end_lap.si("m"))

    def lay(
        self,
        areas: Sequence[Area],
        rolls: Rolls,
        *,
        along: str,
        start: str,
        stagger: Quantity,
        marks: Sequence[Mark],
        record: bool,
        by: str | None = None,
    ) -> Layout:
        """Lay areas out and list their seams.

        Raises:
            BadLayout: a length or lap that cannot be.
        """
        pattern = Pattern(along=along, start=start, stagger_m=stagger.si("m"))  # type: ignore[arg-type]
        taken = [row["name"] for row in self.seams()]
        try:
            laid = lay(areas, rolls, pattern, marks, taken=taken, beside=self._laid())
        except ValueError as error:
            from weldcal.errors import BadLayout

            raise BadLayout(why=str(error)) from None
        if record:
            self.add_seams(_seams(laid), by, [_area(area) for area in areas])
        return laid

    def _laid(self) -> list[Area]:
        """Rectangles laid out before."""
        rows = self.rows(
            "SELECT * FROM areas WHERE job = ? AND x_m IS NOT NULL ORDER BY tick", (self.job.id,)
        )
        return [Area(r["name"], r["x_m"], r["y_m"], r["length_m"], r["width_m"]) for r in rows]

    def last_speed(self) -> float | None:
        """The travel speed of the newest go-ahead, m/min."""
        for strip in reversed(self.strips()):
            if not strip["shortfalls"]:
                speed = strip["true_speed_m_per_min"] or strip["speed_m_per_min"]
                return float(speed) if speed else None
        return None


def _seams(laid: Layout) -> list[Seam]:
    seams = [
        Seam(
            name=lap.name,
            kind=lap.kind,
            area=lap.area,
            lap="granules" if lap.kind == "end lap" else "selvage",
            length=_metres(lap.length_m) if lap.length_m is not None else None,
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
            joins_at=_metres(j.at_m),
        )
        for j in laid.t_joints
    ]
    return seams + joints


def _area(area: Area) -> AreaRecord:
    return AreaRecord(
        name=area.letter,
        length=_metres(area.length_x_m),
        width=_metres(area.length_y_m),
        x=_metres(area.x_m),
        y=_metres(area.y_m),
    )


def _plan(start: tuple[float, float], end: tuple[float, float]) -> Plan:
    x0, y0, x1, y1 = (_metres(value) for value in (*start, *end))
    return Plan(x0=x0, y0=y0, x1=x1, y1=y1)


def _metres(value: float) -> Quantity:
    """A computed length, to a tenth of a millimetre."""
    number = Fraction(round(value * 10_000), 10_000)
    return Quantity(text=f"{float(number):g}", number=number, unit="m")
