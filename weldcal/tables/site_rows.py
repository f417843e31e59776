"""Rows of what stands around the laps: machines, hot work, covers, rolls, visits, leaks."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from weldcal.records.fields import same_name
from weldcal.tables import columns
from weldcal.tables.columns import Maker, Row
from weldcal.tables.fold import Subject

if TYPE_CHECKING:
    from weldcal.records import site as records
    from weldcal.records.stock import LotDoubt, PunchItem, Roll, Substrate
    from weldcal.records.upkeep import Look, StartAnswer, StartLine
    from weldcal.row_types import site as rows
    from weldcal.row_types.machines import CauseRow, MeasureRow, RepairRow


def _measure(subject: Subject, r: records.Measure, begins: int) -> list[Row]:
    speed, runs = None, [time.to("s") for time in (r.time, *r.again) if time is not None]
    mean = sum(runs) / len(runs) if runs else None
    if r.distance is not None and mean is not None:
        speed = float(r.distance.to("m") / mean * 60)
    row: MeasureRow = {
        **columns.seen(subject, r.seen, begins),
        "machine": r.machine,
        "mark": float(r.mark.number) if r.mark else None,
        "mark_unit": r.mark.unit if r.mark else None,
        "distance_m": columns.si(r.distance, "m"),
        "time_s": None if mean is None else float(mean),
        "times_s": json.dumps([float(run) for run in runs]),
        "speed_m_per_min": speed,
        "nozzle_set_c": columns.si(r.nozzle_set, "C"),
        "nozzle_measured_c": columns.si(r.nozzle_measured, "C"),
        "note": r.note,
    }
    return [("measures", row)]


def _cause(subject: Subject, r: records.Cause, begins: int) -> list[Row]:
    row: CauseRow = {
        **columns.seen(subject, r.seen, begins),
        "machine": r.machine,
        "what": r.what,
        "note": r.note,
    }
    return [("causes", row)]


def _repair(subject: Subject, r: records.Repair, begins: int) -> list[Row]:
    row: RepairRow = {
        **columns.seen(subject, r.seen, begins),
        "machine": r.machine,
        "what": r.what,
        "note": r.note,
    }
    return [("repairs", row)]


def _hot_work(subject: Subject, r: records.HotWork, begins: int) -> list[Row]:
    ends = [p["seen"]["at"] for entry, p in subject.filled if entry.kind == "hot-work-end"]
    ended = max(ends, key=columns.utc, default=None)  # taken up again, it ended when it last did
    watches = [p for entry, p in subject.filled if entry.kind == "watch"]
    last = max(watches, key=lambda p: columns.utc(p["seen"]["at"]), default=None)
    row: rows.HotWorkRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "permit": r.permit,
        "extinguisher": r.extinguisher,
        "deck": r.deck,
        "facers": r.facers,
        "cavities": r.cavities,
        "primer_wet": columns.flag(r.primer_wet),
        "watch_min": r.watch.si("min"),
        "watch_source": r.watch_source,
        "ended_utc": columns.utc(ended) if ended else None,
        "ended_local": ended,
        "watched_until_utc": columns.utc(last["seen"]["at"]) if last else None,
        "watched_by": last["seen"]["by"] if last else None,
        "watch_found": last["found"] if last else None,
        "note": r.note,
    }
    return [("hot_work", row)]


def _cover(subject: Subject, r: records.Cover, begins: int) -> list[Row]:
    row: rows.CoverRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "area": r.area,
        "seams": json.dumps([same_name(name) for name in r.seams]),
        "stretches": json.dumps(
            [
                (same_name(stretch.seam), stretch.start.si("m"), stretch.end.si("m"))
                for stretch in r.stretches
            ]
        ),
        "unprobed": json.dumps([same_name(name) for name in r.unprobed]),
    }
    return [("covers", row)]


def _opening(subject: Subject, r: records.OpenUp, begins: int) -> list[Row]:
    row: rows.OpeningRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        **columns.on(r.seam),
        "note": r.note,
    }
    return [("openings", row)]


def _embed(subject: Subject, r: records.Embed, begins: int) -> list[Row]:
    row: rows.EmbeddingRow = {
        **columns.seen(subject, r.seen, begins),
        **columns.on(r.seam),
        "how": r.how,
    }
    return [("embeddings", row)]


def _north(subject: Subject, r: records.North, begins: int) -> list[Row]:
    row: rows.NorthRow = {
        **columns.seen(subject, r.seen, begins),
        "degrees": float(r.degrees.number),
    }
    return [("norths", row)]


def _roll(subject: Subject, r: Roll, begins: int) -> list[Row]:
    row: rows.RollRow = {
        **columns.seen(subject, r.seen, begins),
        "lot": r.lot,
        "sheet": r.sheet,
        "storage": r.storage,
        "conditioning": r.conditioning,
        "note": r.note,
    }
    return [("rolls", row)]


def _lot_doubt(subject: Subject, r: LotDoubt, begins: int) -> list[Row]:
    row: rows.LotDoubtRow = {
        **columns.seen(subject, r.seen, begins),
        "lot": r.lot,
        "why": r.why,
    }
    return [("lot_doubts", row)]


def _substrate(subject: Subject, r: Substrate, begins: int) -> list[Row]:
    row: rows.SubstrateRow = {
        **columns.seen(subject, r.seen, begins),
        "area": r.area,
        "dry": columns.flag(r.dry),
        "primed": columns.flag(r.primed),
        "clean": columns.flag(r.clean),
        "note": r.note,
    }
    return [("substrates", row)]


def _punch(subject: Subject, r: PunchItem, begins: int) -> list[Row]:
    settled = [payload for entry, payload in subject.filled if entry.kind == "punch-done"]
    last = max(settled, key=lambda p: columns.utc(p["seen"]["at"]), default=None)
    row: rows.PunchRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "visitor": r.visitor,
        "place": r.place,
        "what": r.what,
        "done": last["done"] if last else None,
        "done_by": last["seen"]["by"] if last else None,
        "done_local": last["seen"]["at"] if last else None,
        "look": r.look,
    }
    return [("punch", row)]


def _start_line(subject: Subject, r: StartLine, begins: int) -> list[Row]:
    row: rows.StartLineRow = {
        **columns.seen(subject, r.seen, begins),
        "line": r.line,
        "source": r.source,
    }
    return [("start_lines", row)]


def _start_answer(subject: Subject, r: StartAnswer, begins: int) -> list[Row]:
    row: rows.StartAnswerRow = {
        **columns.seen(subject, r.seen, begins),
        "line": r.line,
        "answer": r.answer,
        "note": r.note,
    }
    return [("start_answers", row)]


def _look(subject: Subject, r: Look, begins: int) -> list[Row]:
    row: rows.LookRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "area": r.area,
        "note": r.note,
    }
    return [("looks", row)]


def _leak(subject: Subject, r: records.Leak, begins: int) -> list[Row]:
    row: rows.LeakRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "x_m": r.x.si("m"),
        "y_m": r.y.si("m"),
        "where": r.where,
        "note": r.note,
    }
    steps: list[Row] = [
        (
            "leak_steps",
            {
                **columns.stage(subject, entry, payload),
                "step": payload["step"],
                "said": payload["said"],
                "place": payload.get("place"),
                "dry": columns.flag(payload.get("dry")),
            },
        )
        for entry, payload in subject.filled
    ]
    return [("leaks", row), *steps]


ROWS: dict[str, Maker] = {
    "measure": _measure,
    "cause": _cause,
    "repair": _repair,
    "hot-work": _hot_work,
    "cover": _cover,
    "open-up": _opening,
    "embed": _embed,
    "north": _north,
    "roll": _roll,
    "lot-doubt": _lot_doubt,
    "substrate": _substrate,
    "punch": _punch,
    "start-line": _start_line,
    "start-answer": _start_answer,
    "look": _look,
    "leak": _leak,
}
