"""Rows of what a job lists: sheets, machines, people, limits, seams."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from weldcal.records.fields import same_name
from weldcal.tables import columns
from weldcal.tables.columns import Maker, Row
from weldcal.tables.fold import Subject

if TYPE_CHECKING:
    from weldcal.records.firm import Same
    from weldcal.records.job import Area, Instrument, Job, Machine, Person, Sheet
    from weldcal.records.limits import Limit
    from weldcal.records.seam import Seam
    from weldcal.row_types import listed as rows


def _job(subject: Subject, r: Job, begins: int) -> list[Row]:
    row: rows.JobRow = {
        **columns.named(subject, r.name),
        "units": r.units,
        "zone": r.zone,
        "day_begins": r.day_begins,
        "place": r.place,
    }
    return [("jobs", row)]


def _area(subject: Subject, r: Area, begins: int) -> list[Row]:
    row: rows.AreaRow = {
        **columns.named(subject, r.name),
        "length_m": columns.si(r.length, "m"),
        "width_m": columns.si(r.width, "m"),
        "x_m": columns.si(r.x, "m"),
        "y_m": columns.si(r.y, "m"),
        "slope": r.slope,
        "over": r.over,
    }
    return [("areas", row)]


def _sheet(subject: Subject, r: Sheet, begins: int) -> list[Row]:
    row: rows.SheetRow = {
        **columns.named(subject, r.name),
        "description": r.description,
        "judged_by": r.judged_by,
        "thickness_mm": columns.si(r.thickness, "mm"),
        "roll_width_mm": columns.si(r.roll_width, "mm"),
        "roll_length_m": columns.si(r.roll_length, "m"),
        "peel_n_per_mm": columns.si(r.peel_least, "N/mm"),
        "peel_source": r.peel_source,
    }
    return [("sheets", row)]


def _machine(subject: Subject, r: Machine, begins: int) -> list[Row]:
    marks = sorted((float(m.mark.number), m.speed.si("m/min")) for m in r.marks)
    row: rows.MachineRow = {
        **columns.named(subject, r.name),
        "dial": r.dial,
        "dial_low": float(r.dial_low.number),
        "dial_high": float(r.dial_high.number),
        "dial_step": float(r.dial_step.number),
        "nozzle_low_c": r.nozzle_low.si("C"),
        "nozzle_high_c": r.nozzle_high.si("C"),
        "rated_v": columns.si(r.rated_voltage, "V"),
        "marks": json.dumps(marks),
    }
    return [("machines", row)]


def _instrument(subject: Subject, r: Instrument, begins: int) -> list[Row]:
    return [
        (
            "instruments",
            {**columns.named(subject, r.name), "kind": r.kind, "checked": r.checked, "due": r.due},
        )
    ]


def _person(subject: Subject, r: Person, begins: int) -> list[Row]:
    return [("people", {**columns.named(subject, r.name), "initials": r.initials, "role": r.role})]


def _limit(subject: Subject, r: Limit, begins: int) -> list[Row]:
    row: rows.LimitRow = {
        **columns.named(subject, r.name),
        "number": str(r.value.number),
        "unit": r.value.unit,
        "text": r.value.text,
        "source": r.source,
        "adopted_by": r.adopted_by,
        "from_utc": columns.utc(subject.base.at),
    }
    return [("limits", row)]


def _seam(subject: Subject, r: Seam, begins: int) -> list[Row]:
    plan = r.plan
    row: rows.SeamRow = {
        **columns.named(subject, r.name),
        "seam_key": same_name(r.name),
        "kind": r.kind,
        "lap": r.lap,
        "length_m": columns.si(r.length, "m"),
        "place": r.place,
        "area": r.area,
        "joins": same_name(r.joins) if r.joins else None,
        "joins_at_m": columns.si(r.joins_at, "m"),
        "x0_m": plan.x0.si("m") if plan else None,
        "y0_m": plan.y0.si("m") if plan else None,
        "x1_m": plan.x1.si("m") if plan else None,
        "y1_m": plan.y1.si("m") if plan else None,
    }
    return [("seams", row)]


def _same(subject: Subject, r: Same, begins: int) -> list[Row]:
    row: rows.SameRow = {
        **columns.seen(subject, r.seen, begins),
        "what": r.what,
        "one_job": r.one.job,
        "one": same_name(r.one.name),
        "other_job": r.other.job,
        "other": same_name(r.other.name),
        "same": int(r.same),
        "note": r.note,
    }
    return [("sames", row)]


ROWS: dict[str, Maker] = {
    "job": _job,
    "area": _area,
    "sheet": _sheet,
    "machine": _machine,
    "instrument": _instrument,
    "person": _person,
    "limit": _limit,
    "seam": _seam,
    "same": _same,
}
