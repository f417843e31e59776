"""Rows of what is done on a seam: strips, runs, what was read, found, mended and cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from weldcal.records.codec import decode
from weldcal.records.fields import same_name
from weldcal.tables import columns
from weldcal.tables.columns import Maker, Row
from weldcal.tables.fold import Subject

if TYPE_CHECKING:
    from weldcal.records import seam as records
    from weldcal.records.strip import Reading, Strip
    from weldcal.row_types import work as rows
    from weldcal.row_types.strips import ConditionsRow, StripRow


def _conditions_read(subject: Subject, r: Reading, begins: int) -> list[Row]:
    row: ConditionsRow = {
        **columns.seen(subject, r.seen, begins),
        **columns.conditions(r.conditions),
    }
    return [("conditions", row)]


def _strip(subject: Subject, r: Strip, begins: int) -> list[Row]:
    pulls = [payload for entry, payload in subject.filled if entry.kind == "pull"]
    seen = columns.seen(subject, r.seen, begins, r.name)
    if len(pulls) > 1:
        seen["flags"] = columns.also(seen["flags"], "pulled twice")
    row: StripRow = {
        **seen,
        **columns.setting(r.setting),
        **columns.conditions(r.conditions),
        **columns.readings(r.readings),
        "by_hand": int(bool(r.setting.by_hand)),
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
    return [("strips", row), *columns.reading_rows(subject, r.readings)]


def _run(subject: Subject, r: records.RunStart, begins: int) -> list[Row]:
    finishes = [payload for entry, payload in subject.filled if entry.kind == "run-finish"]
    finish: records.RunFinish | None = decode("run-finish", finishes[0]) if finishes else None
    own: rows.RunColumns = {
        **columns.on(r.seam),
        "start_m": r.start.si("m"),
        "end_m": finish.end.si("m") if finish else None,
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
        seen["flags"] = columns.also(seen["flags"], "finished twice")
    if r.setting is None:
        unset: rows.UnsetRun = {**seen, **columns.conditions(r.conditions), **own}
        return [("runs", unset)]
    row: rows.RunRow = {
        **seen,
        **columns.setting(r.setting),
        **columns.conditions(r.conditions),
        **own,
    }
    return [("runs", row)]


def _finish(subject: Subject, r: records.RunFinish, begins: int) -> list[Row]:
    """A finish whose start is not known on any device yet."""
    row: rows.FinishRow = {
        **columns.seen(subject, r.seen, begins),
        **columns.on(r.seam),
        "end_m": r.end.si("m"),
        "why": r.why,
    }
    return [("finishes", row)]


def _bleed(subject: Subject, r: records.BleedCheck, begins: int) -> list[Row]:
    row: rows.BleedRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        **columns.readings(r.readings),
        **columns.on(r.seam),
        "at_m": r.at.si("m"),
        "bubbling": r.bubbling,
        "note": r.note,
    }
    return [("bleeds", row), *columns.reading_rows(subject, r.readings)]


def _width(subject: Subject, r: records.LapWidth, begins: int) -> list[Row]:
    row: rows.WidthRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        **columns.on(r.seam),
        "at_m": r.at.si("m"),
        "overlap_mm": r.overlap.si("mm"),
        "bonded_mm": columns.si(r.bonded, "mm"),
        "note": r.note,
    }
    return [("widths", row)]


def _walk(subject: Subject, r: records.Walk, begins: int) -> list[Row]:
    row: rows.WalkRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        **columns.on(r.seam),
        "start_m": r.start.si("m"),
        "end_m": r.end.si("m"),
        "started_utc": columns.utc(r.started) if r.started else None,
        "ended_utc": columns.utc(r.ended) if r.ended else None,
        "note": r.note,
    }
    return [("walks", row)]


def _finding(subject: Subject, r: records.Finding, begins: int) -> list[Row]:
    row: rows.FindingRow = {
        **columns.seen(subject, r.seen, begins, r.name),
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
    return [("findings", row)]


def _mend(subject: Subject, r: records.Mend, begins: int) -> list[Row]:
    row: rows.MendRow = {
        **columns.seen(subject, r.seen, begins, r.name),
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
    return [("mends", row)]


def _peel(subject: Subject, r: records.Peel, begins: int) -> list[Row]:
    per_mm = columns.si(r.line_load, "N/mm")
    if per_mm is None and r.load is not None and r.width is not None:
        per_mm = float(r.load.to("N") / r.width.to("mm"))
    row: rows.PeelRow = {
        **columns.seen(subject, r.seen, begins, r.name),
        "seam": r.seam,
        "seam_key": None if r.seam is None else same_name(r.seam),
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
    return [("peels", row)]


ROWS: dict[str, Maker] = {
    "conditions": _conditions_read,
    "strip": _strip,
    "run": _run,
    "run-finish": _finish,
    "bleed": _bleed,
    "lap-width": _width,
    "walk": _walk,
    "finding": _finding,
    "mend": _mend,
    "peel": _peel,
}
