"""What one job says to questions over all jobs, as rows: what the pages of that job rest on.

Invariant: nothing is judged here: strips by the job's own limits, faults by the run that welded
their place, seams by their state, each by the function that the job's own pages ask.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import msgspec

from weldcal.book.doubting import groups_of
from weldcal.book.knowing import class_of
from weldcal.book.seams import in_reach
from weldcal.book.trials import machine_out
from weldcal.book.whole import Book
from weldcal.quality.coverage import total
from weldcal.records.fields import same_name
from weldcal.tables.columns import utc

Row = dict[str, Any]
# Of which job and day, on what machine and sheet: as named there, and as folded.
_OF: dict[str, type] = {
    "id": str,
    "job": str,
    "day": str,
    "machine": str,
    "machine_key": str,
    "sheet": str,
    "sheet_key": str,
    "sheet_class": str,
}
_MADE_WITH: dict[str, type] = {
    **_OF,
    "lap": str,
    "seen_by": str,
    "person_key": str,
    "by_hand": int,
}
# What was measured, where it was: true speed and what the dial said; the air and what was set.
_MEASURED: dict[str, type] = {
    "true_speed_m_per_min": float,
    "dial_m_per_min": float,
    "nozzle_c": float,
    "nozzle_measured_c": float,
}
FACTS: dict[str, dict[str, type]] = {
    "told_strips": {
        **_MADE_WITH,
        **_MEASURED,
        "n": int,
        "passed": int,
        "temperature_c": float,
        "true_m_per_min": float,
    },
    "told_runs": {
        **_MADE_WITH,
        **_MEASURED,
        "welded_m": float,
        "probed_m": float,
        "faults": int,
        "kind": str,
        "hour": str,
        "weather": str,
    },
    "told_measures": {**_MADE_WITH, **_MEASURED, "by": str},
    "observations": {**_OF, "body": str},
    "roofs": {
        "id": str,
        "job": str,
        "name": str,
        "units": str,
        "first_day": str,
        "last_day": str,
        "seams": int,
        "welded_m": float,
        "unprobed_m": float,
        "open": int,
        "mended": int,
        "warnings": int,
        "conflicts": int,
        "machines_out": str,
    },
}


def facts(book: Book) -> dict[str, list[Row]]:
    """What the book's job says, by table of `FACTS`, in the order seen."""
    past = book.looking_back.past()
    strips, runs, measures = past["strips"], past["runs"], past["measures"]
    faults = Counter(f["run"]["id"] for f in past["faults"] if f["on_probed"])
    seams = {row["seam_key"]: row for row in reversed(book.roof.seams())}
    listed = book.reader.rows("SELECT * FROM sheets WHERE job = ?", (book.job.id,))
    kinds = {row["name"]: class_of(row) for row in listed}
    for row in (*strips, *runs, *measures):
        row["sheet_class"] = kinds.get(row["sheet"], "")
    return {
        "told_strips": [_strip(row, n) for n, row in enumerate(strips)],
        "told_runs": [_run(row, faults[row["id"]], seams.get(row["seam_key"])) for row in runs],
        "told_measures": [{**_made_with(row), "by": row["seen_by"]} for row in measures],
        "observations": _observations(book, kinds),
        "roofs": [_roof(book, strips, runs)],
    }


def _made_with(row: Row) -> Row:
    found = {name: row.get(name) for name in (*_MADE_WITH, *_MEASURED)}
    found["machine_key"] = same_name(row["machine"] or "")
    found["sheet_key"] = same_name(row["sheet"] or "")
    found["person_key"] = same_name(row["seen_by"] or "")
    return found


def _strip(row: Row, n: int) -> Row:
    at = row["sheet_c"] if row["sheet_c"] is not None else row["ambient_c"]
    return {
        **_made_with(row),
        "n": n,
        "passed": int(not row["shortfalls"]),
        "temperature_c": at,
        "true_m_per_min": row["true_m_per_min"],
    }


def _run(row: Row, faults: int, seam: Row | None) -> Row:
    groups = groups_of(row, seam, by_clock=False)
    end = row["end_m"]
    return {
        **_made_with(row),
        "welded_m": abs(end - row["start_m"]) if end is not None else 0.0,
        "probed_m": row["probed_m"],
        "faults": faults,
        "kind": groups.get("kind"),
        "hour": groups["hour"],
        "weather": groups.get("weather"),
    }


def _observations(book: Book, kinds: dict[str, str]) -> list[Row]:
    """Strips and checks as the computation takes them, where bleed-out judges the sheet."""
    return [
        {
            "id": one.id,
            "job": book.job.id,
            "day": one.day,
            "machine": one.machine,
            "machine_key": same_name(one.machine),
            "sheet": one.sheet,
            "sheet_key": same_name(one.sheet),
            "sheet_class": kinds.get(one.sheet, ""),
            "body": msgspec.json.encode(one).decode(),
        }
        for one in book.observing.observations()
        if book.limits.acceptance(one.sheet).by_bleed_out
    ]


def _roof(book: Book, strips: list[Row], runs: list[Row]) -> Row:
    """How the roof stands, in a few numbers."""
    seams, job = book.roof.view(), book.job
    days = sorted({row["day"] for row in (*strips, *runs)})
    last = max((row["seen_utc"] for row in strips), default=utc(book.now().isoformat()))
    machines = dict.fromkeys((row["machine"], bool(row["by_hand"])) for row in strips)
    out = [
        name
        for name, hand in machines
        if machine_out(book.reader, book.limits, book.strips, name, last, by_hand=hand)
    ]
    return {
        "id": job.id,
        "job": job.id,
        "name": job.name,
        "units": job.units,
        "first_day": days[0] if days else None,
        "last_day": days[-1] if days else None,
        "seams": len(seams),
        "welded_m": sum(found["state"].welded_m for found in seams),
        "unprobed_m": sum(total(in_reach(found)) for found in seams),
        "open": sum(len(found["state"].open) for found in seams),
        "mended": sum(len(found["state"].mended) for found in seams),
        "warnings": len(book.roof.warnings()),
        "conflicts": len(book.roof.conflicts()),
        "machines_out": ", ".join(out),
    }
