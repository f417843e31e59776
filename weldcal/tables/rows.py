"""The row of each kind of record: SI floats from exact quantities.

Invariant: a float is made here and only here, as the nearest to the exact
value in the column's unit.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from weldcal.quantities import DIMENSION, Quantity
from weldcal.records.codec import decode
from weldcal.records.common import Conditions, Photo, Seen, Setting
from weldcal.records.fields import same_name
from weldcal.tables.fold import Subject

Row = tuple[str, dict[str, Any]]
LATE_H = 1.0
AHEAD_H = 5 / 60


def utc(at: str) -> str:
    """A time in UTC, sortable as text."""
    return datetime.fromisoformat(at).astimezone(UTC).isoformat(timespec="seconds")


def _si(quantity: Quantity | None, unit: str) -> float | None:
    return None if quantity is None else quantity.si(unit)


def _on(seam: str | None) -> dict[str, Any]:
    """The seam as typed, and the form under which two spellings are one seam."""
    return {"seam": seam, "seam_key": None if seam is None else same_name(seam)}


def _photos(photos: tuple[Photo, ...]) -> str:
    return json.dumps([photo.sha256 for photo in photos])


def _flag(value: bool | None) -> int | None:
    return None if value is None else int(value)


def _named(subject: Subject, name: str) -> dict[str, Any]:
    base = subject.base
    return {
        "id": base.id,
        "job": subject.job,
        "device": base.device,
        "tick": base.tick,
        "name": name,
    }


def _seen(subject: Subject, seen: Seen, begins: int, name: str | None = None) -> dict[str, Any]:
    base = subject.base
    local = datetime.fromisoformat(seen.at)
    late = late_h(base.at, seen.at)
    day = (local - timedelta(hours=begins)).date().isoformat()
    flags = []
    if late > LATE_H:
        flags.append("late")
    if late < -AHEAD_H:
        flags.append("ahead of the clock")
    if seen.by != base.who:
        flags.append("entered by another")
    if subject.amendments:
        flags.append("amended")
    if subject.conflicts:
        flags.append("conflict")
    flags += _stage_flags(subject)
    return {
        **_named(subject, name or ""),
        "seen_utc": utc(seen.at), "seen_local": seen.at, "day": day,
        "hour": round(local.hour + local.minute / 60, 4), "seen_by": seen.by,
        "entered_by": base.who, "entered_utc": utc(base.at), "late_h": round(late, 3),
        "instrument": seen.instrument, "flags": json.dumps(flags),
    }  # fmt: skip


_STAGE_MARKS = {
    "pull": ("pull late", "pull entered by another"),
    "run-finish": ("finish late", "finish entered by another"),
    "hot-work-end": ("end late", "end entered by another"),
    "watch": ("watch late", "watch entered by another"),
}


def _stage_flags(subject: Subject) -> list[str]:
    """What was filled in late, or entered by another than who saw it."""
    flags = []
    for entry, payload in subject.filled:
        marks = _STAGE_MARKS.get(entry.kind)
        if marks is None:
            continue
        if late_h(entry.at, payload["seen"]["at"]) > LATE_H:
            flags.append(marks[0])
        if payload["seen"]["by"] != entry.who:
            flags.append(marks[1])
    return list(dict.fromkeys(flags))


def late_h(entered: str, seen: str) -> float:
    """Hours between when something was seen and when it was entered."""
    return (datetime.fromisoformat(entered) - datetime.fromisoformat(seen)).total_seconds() / 3600


def _conditions(c: Conditions) -> dict[str, Any]:
    carried = {part.name: part.read_at for part in c.carried}
    return {
        "ambient_c": _si(c.ambient, "C"), "sheet_c": _si(c.sheet_temp, "C"),
        "under_c": _si(c.under_temp, "C"), "humidity_pct": _si(c.humidity, "%"),
        "wind_m_per_s": _si(c.wind, "m/s"), "line_v": _si(c.line_voltage, "V"),
        "damp": _flag(c.damp), "carried": json.dumps(carried, sort_keys=True),
    }  # fmt: skip


def _setting(s: Setting | None) -> dict[str, Any]:
    if s is None:
        return {}
    bare = DIMENSION[s.speed.unit] == "mark"
    return {
        "machine": s.machine, "sheet": s.sheet, "lap": s.lap, "nozzle_c": _si(s.nozzle, "C"),
        "nozzle_measured_c": _si(s.nozzle_measured, "C"),
        "speed_m_per_min": None if bare else s.speed.si("m/min"),
        "dial_mark": float(s.speed.number) if bare else None,
        "speed_text": s.speed.text, "speed_unit": s.speed.unit,
        "nozzle_text": s.nozzle.text, "nozzle_unit": s.nozzle.unit,
        "true_speed_m_per_min": _si(s.true_speed, "m/min"),
        "air_flow_pct": _si(s.air_flow, "%"), "nozzle_width_mm": _si(s.nozzle_width, "mm"),
        "roller_load_n": _si(s.roller_load, "N"),
    }  # fmt: skip


def _median(widths: list[float]) -> float | None:
    """The median; `statistics` would bring `random` along, a thirtieth of a recording."""
    ordered, half = sorted(widths), len(widths) // 2
    if not ordered:
        return None
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def _readings(readings: tuple[Quantity, ...]) -> dict[str, Any]:
    widths = [reading.si("mm") for reading in readings]
    return {
        "readings_n": len(widths), "width_median_mm": _median(widths),
        "width_min_mm": min(widths, default=None), "width_max_mm": max(widths, default=None),
    }  # fmt: skip


def _reading_rows(subject: Subject, readings: tuple[Quantity, ...]) -> list[Row]:
    return [
        (
            "readings",
            {
                "id": f"{subject.id}:{n}", "job": subject.job, "of": subject.id, "n": n,
                "width_mm": reading.si("mm"), "text": reading.text,
            },
        )
        for n, reading in enumerate(readings, 1)
    ]  # fmt: skip


def _job(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"units": r.units, "zone": r.zone, "day_begins": r.day_begins, "place": r.place}
    return [("jobs", {**_named(subject, r.name), **row})]


def _area(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "length_m": _si(r.length, "m"), "width_m": _si(r.width, "m"), "x_m": _si(r.x, "m"),
        "y_m": _si(r.y, "m"),
    }  # fmt: skip
    return [("areas", {**_named(subject, r.name), **row})]


def _sheet(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "description": r.description, "judged_by": r.judged_by,
        "thickness_mm": _si(r.thickness, "mm"), "roll_width_mm": _si(r.roll_width, "mm"),
        "roll_length_m": _si(r.roll_length, "m"),
    }  # fmt: skip
    return [("sheets", {**_named(subject, r.name), **row})]


def _machine(subject: Subject, r: Any, begins: int) -> list[Row]:
    marks = sorted((float(m.mark.number), m.speed.si("m/min")) for m in r.marks)
    row = {
        "dial": r.dial, "dial_low": float(r.dial_low.number), "dial_high": float(r.dial_high.number),
        "dial_step": float(r.dial_step.number), "nozzle_low_c": r.nozzle_low.si("C"),
        "nozzle_high_c": r.nozzle_high.si("C"), "rated_v": _si(r.rated_voltage, "V"),
        "marks": json.dumps(marks),
    }  # fmt: skip
    return [("machines", {**_named(subject, r.name), **row})]


def _instrument(subject: Subject, r: Any, begins: int) -> list[Row]:
    return [
        (
            "instruments",
            {**_named(subject, r.name), "kind": r.kind, "checked": r.checked, "due": r.due},
        )
    ]


def _person(subject: Subject, r: Any, begins: int) -> list[Row]:
    return [("people", {**_named(subject, r.name), "initials": r.initials, "role": r.role})]


def _limit(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "number": str(r.value.number), "unit": r.value.unit, "text": r.value.text,
        "source": r.source, "adopted_by": r.adopted_by, "from_utc": utc(subject.base.at),
    }  # fmt: skip
    return [("limits", {**_named(subject, r.name), **row})]


def _conditions_read(subject: Subject, r: Any, begins: int) -> list[Row]:
    return [("conditions", {**_seen(subject, r.seen, begins), **_conditions(r.conditions)})]


def _strip(subject: Subject, r: Any, begins: int) -> list[Row]:
    pulls = [payload for entry, payload in subject.filled if entry.kind == "pull"]
    row = {
        "bubbling": r.bubbling, "bond": r.bond,
        "pulled_utc": utc(pulls[0]["seen"]["at"]) if pulls else None,
        "pulled_by": pulls[0]["seen"]["by"] if pulls else None, "parted": r.parted,
        "bonded_mm": _si(r.bonded_width, "mm"), "smoke": _flag(r.smoke),
        "exposed_mat": _flag(r.exposed_mat), "roll_lot": r.roll_lot, "source": r.source,
        "note": r.note, "photos": _photos(r.photos),
    }  # fmt: skip
    seen = _seen(subject, r.seen, begins, r.name)
    if len(pulls) > 1:
        seen["flags"] = json.dumps([*json.loads(seen["flags"]), "pulled twice"])
    return [
        (
            "strips",
            {
                **seen,
                **_setting(r.setting),
                **_conditions(r.conditions),
                **_readings(r.readings),
                **row,
            },
        ),
        *_reading_rows(subject, r.readings),
    ]


def _seam(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "seam_key": same_name(r.name), "kind": r.kind, "lap": r.lap, "length_m": _si(r.length, "m"),
        "place": r.place, "area": r.area, "joins": same_name(r.joins) if r.joins else None,
        "joins_at_m": _si(r.joins_at, "m"),
        **{f"{n}_m": _si(getattr(r.plan, n), "m") if r.plan else None for n in ("x0", "y0", "x1", "y1")},
    }  # fmt: skip
    return [("seams", {**_named(subject, r.name), **row})]


def _run(subject: Subject, r: Any, begins: int) -> list[Row]:
    finishes = [payload for entry, payload in subject.filled if entry.kind == "run-finish"]
    finish = decode("run-finish", finishes[0]) if finishes else None
    row = {
        **_on(r.seam), "start_m": r.start.si("m"), "end_m": _si(finish.end, "m") if finish else None,
        "finished_utc": utc(finish.seen.at) if finish else None,
        "finished_by": finish.seen.by if finish else None,
        "why_finished": finish.why if finish else None,
        "power_lost": _flag(finish.power_lost) if finish else None, "by_hand": int(r.by_hand),
        "go_ahead": r.go_ahead, "roll_lot": r.roll_lot, "warnings": json.dumps(list(r.warnings)),
        "note": r.note,
    }  # fmt: skip
    seen = _seen(subject, r.seen, begins, r.name)
    if len(finishes) > 1:
        seen["flags"] = json.dumps([*json.loads(seen["flags"]), "finished twice"])
    return [("runs", {**seen, **_setting(r.setting), **_conditions(r.conditions), **row})]


def _finish(subject: Subject, r: Any, begins: int) -> list[Row]:
    """A finish whose start is not known on any device yet."""
    row = {**_on(r.seam), "end_m": r.end.si("m"), "why": r.why}
    return [("finishes", {**_seen(subject, r.seen, begins), **row})]


def _bleed(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {**_on(r.seam), "at_m": r.at.si("m"), "bubbling": r.bubbling, "note": r.note}
    seen = _seen(subject, r.seen, begins, r.name)
    rows: list[Row] = [("bleeds", {**seen, **_readings(r.readings), **row})]
    return rows + _reading_rows(subject, r.readings)


def _walk(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **_on(r.seam), "start_m": r.start.si("m"), "end_m": r.end.si("m"),
        "started_utc": utc(r.started) if r.started else None,
        "ended_utc": utc(r.ended) if r.ended else None, "note": r.note,
    }  # fmt: skip
    return [("walks", {**_seen(subject, r.seen, begins, r.name), **row})]


def _finding(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **_on(r.seam), "kind": r.kind, "start_m": r.start.si("m"), "end_m": r.end.si("m"),
        "how": r.how, "depth_mm": _si(r.depth, "mm"), "walk": r.walk, "peel": r.peel,
        "note": r.note, "photos": _photos(r.photos),
    }  # fmt: skip
    return [("findings", {**_seen(subject, r.seen, begins, r.name), **row})]


def _mend(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        **_on(r.seam), "finding": r.finding, "start_m": r.start.si("m"), "end_m": r.end.si("m"),
        "method": r.method, "tool": r.tool, "patch_mm": _si(r.patch, "mm"), "note": r.note,
        "photos": _photos(r.photos),
    }  # fmt: skip
    return [("mends", {**_seen(subject, r.seen, begins, r.name), **row})]


def _peel(subject: Subject, r: Any, begins: int) -> list[Row]:
    per_mm = _si(r.line_load, "N/mm")
    if per_mm is None and r.load is not None and r.width is not None:
        per_mm = float(r.load.to("N") / r.width.to("mm"))
    row = {
        **_on(r.seam), "at_m": _si(r.at, "m"), "strip": r.strip, "load_n": _si(r.load, "N"),
        "width_mm": _si(r.width, "mm"), "n_per_mm": per_mm, "parted": r.parted, "note": r.note,
    }  # fmt: skip
    return [("peels", {**_seen(subject, r.seen, begins, r.name), **row})]


def _advice(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "question": json.dumps(r.question, sort_keys=True),
        "answer": json.dumps(r.answer, sort_keys=True), "version": r.version,
    }  # fmt: skip
    return [("advice", {**_seen(subject, r.seen, begins), **row})]


def _seal(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "label": r.label, "entries": r.entries,
        "heads": json.dumps([[head.device, head.seq, head.hash] for head in r.heads]),
        "counts": json.dumps(r.counts, sort_keys=True), "code": r.code, "key": r.key,
        "signature": r.signature,
    }  # fmt: skip
    handed = [
        (
            "handed",
            {
                "id": entry.id, "job": subject.job, "of": subject.id, "to": payload["to"],
                "how": payload["how"], "seen_by": payload["seen"]["by"],
                "seen_utc": utc(payload["seen"]["at"]), "seen_local": payload["seen"]["at"],
                "tick": entry.tick, "entered_by": entry.who,
                "late_h": round(late_h(entry.at, payload["seen"]["at"]), 3),
            },
        )
        for entry, payload in subject.filled
    ]  # fmt: skip
    return [("seals", {**_seen(subject, r.seen, begins, r.name), **row}), *handed]


def _measure(subject: Subject, r: Any, begins: int) -> list[Row]:
    speed = None
    if r.distance is not None and r.time is not None:
        speed = float(r.distance.to("m") / r.time.to("min"))
    row = {
        "machine": r.machine, "mark": float(r.mark.number) if r.mark else None,
        "mark_unit": r.mark.unit if r.mark else None, "distance_m": _si(r.distance, "m"),
        "time_s": _si(r.time, "s"), "speed_m_per_min": speed,
        "nozzle_set_c": _si(r.nozzle_set, "C"), "nozzle_measured_c": _si(r.nozzle_measured, "C"),
        "note": r.note,
    }  # fmt: skip
    return [("measures", {**_seen(subject, r.seen, begins), **row})]


def _hot_work(subject: Subject, r: Any, begins: int) -> list[Row]:
    ends = [p["seen"]["at"] for entry, p in subject.filled if entry.kind == "hot-work-end"]
    ended = max(ends, key=utc, default=None)  # taken up again, it ended when it last did
    watches = [p for entry, p in subject.filled if entry.kind == "watch"]
    last = max(watches, key=lambda p: utc(p["seen"]["at"]), default=None)
    row = {
        "permit": r.permit, "extinguisher": r.extinguisher, "deck": r.deck, "facers": r.facers,
        "cavities": r.cavities, "primer_wet": _flag(r.primer_wet), "watch_min": r.watch.si("min"),
        "watch_source": r.watch_source, "ended_utc": utc(ended) if ended else None,
        "ended_local": ended,
        "watched_until_utc": utc(last["seen"]["at"]) if last else None,
        "watched_by": last["seen"]["by"] if last else None,
        "watch_found": last["found"] if last else None, "note": r.note,
    }  # fmt: skip
    return [("hot_work", {**_seen(subject, r.seen, begins, r.name), **row})]


def _cover(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "area": r.area, "seams": json.dumps([same_name(name) for name in r.seams]),
        "unprobed": json.dumps([same_name(name) for name in r.unprobed]),
    }  # fmt: skip
    return [("covers", {**_seen(subject, r.seen, begins, r.name), **row})]


def _opening(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {**_on(r.seam), "note": r.note}
    return [("openings", {**_seen(subject, r.seen, begins, r.name), **row})]


def _draw(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {
        "seed": r.seed, "places": json.dumps([[p.seam, p.at.si("m")] for p in r.places]),
        "stretches": json.dumps([[name, a.si("m"), b.si("m")] for name, a, b in r.stretches]),
    }  # fmt: skip
    return [("draws", {**_seen(subject, r.seen, begins, r.name), **row})]


def _leak(subject: Subject, r: Any, begins: int) -> list[Row]:
    row = {"x_m": r.x.si("m"), "y_m": r.y.si("m"), "where": r.where, "note": r.note}
    return [("leaks", {**_seen(subject, r.seen, begins, r.name), **row})]


ROWS: dict[str, Callable[[Subject, Any, int], list[Row]]] = {
    "job": _job, "area": _area, "sheet": _sheet, "machine": _machine, "instrument": _instrument,
    "person": _person, "limit": _limit, "conditions": _conditions_read, "strip": _strip,
    "seam": _seam, "run": _run, "run-finish": _finish, "bleed": _bleed, "walk": _walk, "finding": _finding,
    "mend": _mend, "peel": _peel, "advice": _advice, "seal": _seal, "measure": _measure, "hot-work": _hot_work, "cover": _cover,
    "leak": _leak,
    "draw": _draw,
    "open-up": _opening,
}  # fmt: skip
