"""The row of each kind of record.

Invariant: what several kinds share is made in `columns`; a kind that is not in
`ROWS` makes no row.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from weldcal.records.codec import decode
from weldcal.records.fields import same_name
from weldcal.tables import columns, upkeep_rows
from weldcal.tables.columns import Row
from weldcal.tables.fold import Subject


def _job(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"units": r.units, "zone": r.zone, "day_begins": r.day_begins, "place": r.place}
    return [("jobs", {**columns.named(subject, r.name), **row})]


def _area(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "length_m": columns.si(r.length, "m"),
        "width_m": columns.si(r.width, "m"),
        "x_m": columns.si(r.x, "m"),
        "y_m": columns.si(r.y, "m"),
        "slope": r.slope,
        "over": r.over,
    }
    return [("areas", {**columns.named(subject, r.name), **row})]


def _sheet(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "description": r.description,
        "judged_by": r.judged_by,
        "thickness_mm": columns.si(r.thickness, "mm"),
        "roll_width_mm": columns.si(r.roll_width, "mm"),
        "roll_length_m": columns.si(r.roll_length, "m"),
        "peel_n_per_mm": columns.si(r.peel_least, "N/mm"),
        "peel_source": r.peel_source,
    }
    return [("sheets", {**columns.named(subject, r.name), **row})]


def _machine(subject: Subject, r: Any, begins: int) -> list[Row]:
    marks = sorted((float(m.mark.number), m.speed.si("m/min")) for m in r.marks)
    row = {
        "dial": r.dial,
        "dial_low": float(r.dial_low.number),
        "dial_high": float(r.dial_high.number),
        "dial_step": float(r.dial_step.number),
        "nozzle_low_c": r.nozzle_low.si("C"),
        "nozzle_high_c": r.nozzle_high.si("C"),
        "rated_v": columns.si(r.rated_voltage, "V"),
        "marks": json.dumps(marks),
    }
    return [("machines", {**columns.named(subject, r.name), **row})]


def _instrument(subject: Subject, r: Any, begins: int) -> list[Row]:
    return [
        (
            "instruments",
            {**columns.named(subject, r.name), "kind": r.kind, "checked": r.checked, "due": r.due},
        )
    ]


def _person(subject: Subject, r: Any, begins: int) -> list[Row]:
    return [("people", {**columns.named(subject, r.name), "initials": r.initials, "role": r.role})]


def _limit(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "number": str(r.value.number),
        "unit": r.value.unit,
        "text": r.value.text,
        "source": r.source,
        "adopted_by": r.adopted_by,
        "from_utc": columns.utc(subject.base.at),
    }
    return [("limits", {**columns.named(subject, r.name), **row})]


def _conditions_read(subject: Subject, r: Any, begins: int) -> list[Row]:
    return [
        (
            "conditions",
            {**columns.seen(subject, r.seen, begins), **columns.conditions(r.conditions)},
        )
    ]


def _strip(subject: Subject, r: Any, begins: int) -> list[Row]:
    pulls = [payload for entry, payload in subject.filled if entry.kind == "pull"]
    row = {
        "bubbling": r.bubbling,
        "bond": r.bond,
        "pulled_utc": columns.utc(pulls[0]["seen"]["at"]) if pulls else None,
        "pulled_by": pulls[0]["seen"]["by"] if pulls else None,
        "parted": r.parted,
        "bonded_mm": columns.si(r.bonded_width, "mm"),
        "smoke": columns.flag(r.smoke),
        "exposed_mat": columns.flag(r.exposed_mat),
        "roll_lot": r.roll_lot,
        "source": r.source,
        "note": r.note,
        "photos": columns.photos(r.photos),
    }
    seen = columns.seen(subject, r.seen, begins, r.name)
    if len(pulls) > 1:
        seen["flags"] = json.dumps([*json.loads(seen["flags"]), "pulled twice"])
    return [
        (
            "strips",
            {
                **seen,
                **columns.setting(r.setting),
                **columns.conditions(r.conditions),
                **columns.readings(r.readings),
                "by_hand": int(bool(r.setting.by_hand)),
                **row,
            },
        ),
        *columns.reading_rows(subject, r.readings),
    ]


def _seam(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "seam_key": same_name(r.name),
        "kind": r.kind,
        "lap": r.lap,
        "length_m": columns.si(r.length, "m"),
        "place": r.place,
        "area": r.area,
        "joins": same_name(r.joins) if r.joins else None,
        "joins_at_m": columns.si(r.joins_at, "m"),
        **{
            f"{n}_m": columns.si(getattr(r.plan, n), "m") if r.plan else None
            for n in ("x0", "y0", "x1", "y1")
        },
    }
    return [("seams", {**columns.named(subject, r.name), **row})]


def _run(subject: Subject, r: Any, begins: int) -> list[Row]:
    finishes = [payload for entry, payload in subject.filled if entry.kind == "run-finish"]
    finish = decode("run-finish", finishes[0]) if finishes else None
    row = {
        **columns.on(r.seam),
        "start_m": r.start.si("m"),
        "end_m": columns.si(finish.end, "m") if finish else None,
        "finished_utc": columns.utc(finish.seen.at) if finish else None,
        "finished_by": finish.seen.by if finish else None,
        "why_finished": finish.why if finish else None,
        "power_lost": columns.flag(finish.power_lost) if finish else None,
        "by_hand": int(r.by_hand),
        "go_ahead": r.go_ahead,
        "roll_lot": r.roll_lot,
        "warnings": columns.listed(tuple(r.warnings)),
        "note": r.note,
    }
    seen = columns.seen(subject, r.seen, begins, r.name)
    if len(finishes) > 1:
        seen["flags"] = json.dumps([*json.loads(seen["flags"]), "finished twice"])
    return [
        ("runs", {**seen, **columns.setting(r.setting), **columns.conditions(r.conditions), **row})
    ]


def _finish(subject: Subject, r: Any, begins: int) -> list[Row]:
    """A finish whose start is not known on any device yet."""
    row = {**columns.on(r.seam), "end_m": r.end.si("m"), "why": r.why}
    return [("finishes", {**columns.seen(subject, r.seen, begins), **row})]


def _bleed(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {**columns.on(r.seam), "at_m": r.at.si("m"), "bubbling": r.bubbling, "note": r.note}
    seen = columns.seen(subject, r.seen, begins, r.name)
    rows: list[Row] = [("bleeds", {**seen, **columns.readings(r.readings), **row})]
    return rows + columns.reading_rows(subject, r.readings)


def _width(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **columns.on(r.seam),
        "at_m": r.at.si("m"),
        "overlap_mm": r.overlap.si("mm"),
        "bonded_mm": columns.si(r.bonded, "mm"),
        "note": r.note,
    }
    return [("widths", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _walk(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **columns.on(r.seam),
        "start_m": r.start.si("m"),
        "end_m": r.end.si("m"),
        "started_utc": columns.utc(r.started) if r.started else None,
        "ended_utc": columns.utc(r.ended) if r.ended else None,
        "note": r.note,
    }
    return [("walks", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _finding(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **columns.on(r.seam),
        "kind": r.kind,
        "start_m": r.start.si("m"),
        "end_m": r.end.si("m"),
        "how": r.how,
        "depth_mm": columns.si(r.depth, "mm"),
        "walk": r.walk,
        "peel": r.peel,
        "note": r.note,
        "photos": columns.photos(r.photos),
    }
    return [("findings", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _mend(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **columns.on(r.seam),
        "finding": r.finding,
        "start_m": r.start.si("m"),
        "end_m": r.end.si("m"),
        "method": r.method,
        "tool": r.tool,
        "patch_mm": columns.si(r.patch, "mm"),
        "note": r.note,
        "photos": columns.photos(r.photos),
        "nozzle_c": columns.si(r.nozzle, "C"),
        "go_ahead": r.go_ahead,
    }
    return [("mends", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _peel(subject: Subject, r: Any, begins: int) -> list[Row]:
    per_mm = columns.si(r.line_load, "N/mm")
    if per_mm is None and r.load is not None and r.width is not None:
        per_mm = float(r.load.to("N") / r.width.to("mm"))
    row = {
        **columns.on(r.seam),
        "at_m": columns.si(r.at, "m"),
        "strip": r.strip,
        "load_n": columns.si(r.load, "N"),
        "width_mm": columns.si(r.width, "mm"),
        "n_per_mm": per_mm,
        "parted": r.parted,
        "note": r.note,
        "sample_c": columns.si(r.sample_temp, "C"),
        "pull_mm_per_min": columns.si(r.pull_rate, "mm/min"),
    }
    return [("peels", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _advice(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "question": columns.as_json(r.question),
        "answer": columns.as_json(r.answer),
        "version": r.version,
    }
    return [("advice", {**columns.seen(subject, r.seen, begins), **row})]


def _seal(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "label": r.label,
        "entries": r.entries,
        "heads": json.dumps([[head.device, head.seq, head.hash] for head in r.heads]),
        "counts": json.dumps(r.counts, sort_keys=True),
        "code": r.code,
        "key": r.key,
        "signature": r.signature,
    }
    handed = [
        (
            "handed",
            {
                **columns.stage(subject, entry, payload),
                "to": payload["to"],
                "how": payload["how"],
            },
        )
        for entry, payload in subject.filled
    ]
    return [("seals", {**columns.seen(subject, r.seen, begins, r.name), **row}), *handed]


def _measure(subject: Subject, r: Any, begins: int) -> list[Row]:
    speed, runs = None, [time.to("s") for time in (r.time, *r.again) if time is not None]
    mean = sum(runs) / len(runs) if runs else None
    if r.distance is not None and mean is not None:
        speed = float(r.distance.to("m") / mean * 60)
    row = {
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
    return [("measures", {**columns.seen(subject, r.seen, begins), **row})]


def _cause(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"machine": r.machine, "what": r.what, "note": r.note}
    return [("causes", {**columns.seen(subject, r.seen, begins), **row})]


def _repair(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"machine": r.machine, "what": r.what, "note": r.note}
    return [("repairs", {**columns.seen(subject, r.seen, begins), **row})]


def _hot_work(subject: Subject, r: Any, begins: int) -> list[Row]:
    ends = [p["seen"]["at"] for entry, p in subject.filled if entry.kind == "hot-work-end"]
    ended = max(ends, key=columns.utc, default=None)  # taken up again, it ended when it last did
    watches = [p for entry, p in subject.filled if entry.kind == "watch"]
    last = max(watches, key=lambda p: columns.utc(p["seen"]["at"]), default=None)
    row = {
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
    return [("hot_work", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _cover(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "area": r.area,
        "seams": json.dumps([same_name(name) for name in r.seams]),
        "stretches": json.dumps(
            [(same_name(one.seam), one.start.si("m"), one.end.si("m")) for one in r.stretches]
        ),
        "unprobed": json.dumps([same_name(name) for name in r.unprobed]),
    }
    return [("covers", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _opening(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {**columns.on(r.seam), "note": r.note}
    return [("openings", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _north(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"degrees": float(r.degrees.number)}
    return [("norths", {**columns.seen(subject, r.seen, begins), **row})]


def _roll(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "lot": r.lot,
        "sheet": r.sheet,
        "storage": r.storage,
        "conditioning": r.conditioning,
        "note": r.note,
    }
    return [("rolls", {**columns.seen(subject, r.seen, begins), **row})]


def _lot_doubt(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"lot": r.lot, "why": r.why}
    return [("lot_doubts", {**columns.seen(subject, r.seen, begins), **row})]


def _substrate(subject: Subject, r: Any, begins: int) -> list[Row]:
    looked = {name: columns.flag(getattr(r, name)) for name in ("dry", "primed", "clean")}
    row = {"area": r.area, **looked, "note": r.note}
    return [("substrates", {**columns.seen(subject, r.seen, begins), **row})]


def _punch(subject: Subject, r: Any, begins: int) -> list[Row]:
    settled = [payload for entry, payload in subject.filled if entry.kind == "punch-done"]
    last = max(settled, key=lambda p: columns.utc(p["seen"]["at"]), default=None)
    row = {
        "visitor": r.visitor,
        "place": r.place,
        "what": r.what,
        "done": last["done"] if last else None,
        "done_by": last["seen"]["by"] if last else None,
        "done_local": last["seen"]["at"] if last else None,
        "look": r.look,
    }
    return [("punch", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _draw(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "seed": r.seed,
        "places": json.dumps([[p.seam, p.at.si("m")] for p in r.places]),
        "stretches": json.dumps([[name, a.si("m"), b.si("m")] for name, a, b in r.stretches]),
    }
    return [("draws", {**columns.seen(subject, r.seen, begins, r.name), **row})]


def _same(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "what": r.what,
        "one_job": r.one.job,
        "one": same_name(r.one.name),
        "other_job": r.other.job,
        "other": same_name(r.other.name),
        "same": columns.flag(r.same),
        "note": r.note,
    }
    return [("sames", {**columns.seen(subject, r.seen, begins), **row})]


ROWS: dict[str, Callable[[Subject, Any, int], list[Row]]] = {
    "job": _job,
    "area": _area,
    "sheet": _sheet,
    "machine": _machine,
    "instrument": _instrument,
    "person": _person,
    "limit": _limit,
    "conditions": _conditions_read,
    "strip": _strip,
    "seam": _seam,
    "run": _run,
    "run-finish": _finish,
    "bleed": _bleed,
    "lap-width": _width,
    "walk": _walk,
    "finding": _finding,
    "mend": _mend,
    "peel": _peel,
    "advice": _advice,
    "seal": _seal,
    "measure": _measure,
    "cause": _cause,
    "repair": _repair,
    "hot-work": _hot_work,
    "cover": _cover,
    "draw": _draw,
    "open-up": _opening,
    "same": _same,
    "north": _north,
    "roll": _roll,
    "lot-doubt": _lot_doubt,
    "substrate": _substrate,
    "punch": _punch,
    **upkeep_rows.ROWS,
}
