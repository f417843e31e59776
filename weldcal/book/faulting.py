"""Which run a fault belongs to, and how much of a run was probed.

Invariant: a fault is laid to the last run begun at its place before it was found,
never to one that welded the place again; and it counts in a rate only where the
lap was probed, for lap that nobody probed is not clean lap.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from weldcal.book.job_reader import JobReader
from weldcal.book.limits import Limits
from weldcal.quality.coverage import Stretch, covers, ordered, union
from weldcal.quality.faults import Piece
from weldcal.rules.cold import probes
from weldcal.rules.tolerance import Tolerances
from weldcal.rules.welded import by_seam, moment, run_that_welded

Row = dict[str, Any]
# Cuts for samples are made on purpose.
SAMPLE = "sample cut"


def faults_on_runs(reader: JobReader, limits: Limits, runs: list[Row]) -> list[Row]:
    """The faults of the book's job in the order seen, each with its `run` (or None) and `on_probed`.

    Every run is given its `probed_m`.

    Args:
        runs: rows of the runs to lay faults to, in the order seen.
    """
    walks = by_seam(
        reader.rows(
            "SELECT seam_key, start_m, end_m, seen_utc, started_utc, tick FROM walks WHERE job = ?",
            (reader.job.id,),
        )
    )
    probed: dict[str, list[Stretch]] = {}
    slack = limits.tolerances()
    for run in limits.with_cold(runs, "finished_utc"):
        probed[run["id"]] = _probed(run, walks.get(run["seam_key"], []), slack)
        run["probed_m"] = sum(high - low for low, high in probed[run["id"]])
    on_seam = by_seam(runs)
    faults = reader.rows(
        "SELECT id, name, seam, seam_key, kind, start_m, end_m, day, seen_by, seen_utc, tick FROM findings "
        "WHERE job = ? AND kind <> ? ORDER BY seen_utc, tick, device",
        (reader.job.id, SAMPLE),
    )
    for fault in faults:
        middle = (fault["start_m"] + fault["end_m"]) / 2
        on = on_seam.get(fault["seam_key"], [])
        near = slack.at(fault["seen_utc"])
        fault["run"] = run_that_welded(on, middle, moment(fault), near)
        here = probed[fault["run"]["id"]] if fault["run"] else []
        fault["on_probed"] = covers(here, (middle, middle), near)
    return faults


def probed_pieces(reader: JobReader, limits: Limits) -> list[Piece]:
    """The probed part of every finished run of the book's job, with the faults on it by kind."""
    runs = finished_runs(reader)
    kinds: dict[str, Counter[str]] = {}
    for fault in faults_on_runs(reader, limits, runs):
        if fault["on_probed"]:
            kinds.setdefault(fault["run"]["id"], Counter())[fault["kind"]] += 1
    return [Piece(r["probed_m"], kinds.get(r["id"], {})) for r in runs if r["probed_m"] > 0]


def finished_runs(reader: JobReader) -> list[Row]:
    """Runs of the book's job that are finished, in the order seen."""
    return reader.rows(
        "SELECT * FROM runs WHERE job = ? AND end_m IS NOT NULL ORDER BY seen_utc, tick, device",
        (reader.job.id,),
    )


def _probed(run: Row, walks: list[Row], slack: Tolerances) -> list[Stretch]:
    """What of a run walks made once it was cold cover, m."""
    if run["end_m"] is None:
        return []
    low, high = ordered(run["start_m"], run["end_m"])
    counted = [
        w
        for w in walks
        if probes(moment(w), w["started_utc"] or w["seen_utc"], moment(run), run["cold_utc"])
    ]
    later = union(ordered(w["start_m"], w["end_m"]) for w in counted)
    last = max((w["seen_utc"] for w in counted), default="")
    if covers(later, (low, high), slack.at(last)):
        return [(low, high)]
    return [(max(low, a), min(high, b)) for a, b in later if min(high, b) > max(low, a)]
