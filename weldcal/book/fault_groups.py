"""What each run was made with, for fault rates by who, what and when.

Invariant: only lap that was probed counts, with the faults that lie on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from weldcal.book.faulting import faults_on_runs, finished_runs
from weldcal.quality.faults import Work
from weldcal.quality.history import HAND
from weldcal.row_types.listed import SeamRow
from weldcal.row_types.work import RunRow

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits


def work_of(
    reader: JobReader, limits: Limits, seams: Sequence[SeamRow], *, by_clock: bool
) -> list[Work]:
    """The length probed of each finished run, with the faults that lie on it.

    Args:
        reader, limits: of the job.
        seams: those listed, in order.
        by_clock: by the hour of the clock, and by tool; else by half of the day.
    """
    runs = finished_runs(reader)
    listed = {row["seam_key"]: row for row in reversed(seams)}
    faulted = faults_on_runs(reader, limits, runs)
    count = faulted.on_probed()
    return [
        Work(
            count[r["id"]],
            probed_m,
            groups_of(r, listed.get(r["seam_key"]), by_clock=by_clock),
            faulted.over_m[r["id"]],
        )
        for r in runs
        if (probed_m := faulted.probed_m[r["id"]]) > 0
    ]


def groups_of(run: RunRow, seam: SeamRow | None, *, by_clock: bool) -> dict[str, str]:
    """Who and what a run was made with; what nobody noted is left out.

    Args:
        run: its row.
        seam: the row of its seam; None where nobody listed it.
        by_clock: by the hour of the clock, and by tool; else by half of the day.
    """
    groups = {"operator": run["seen_by"], "machine": run["machine"] or HAND}
    kind, lap = (seam["kind"], run["lap"] or seam["lap"]) if seam else (None, run["lap"])
    noted = {"sheet": run["sheet"], "kind": kind, "lap": lap}
    groups |= {factor: level for factor, level in noted.items() if level}
    half = "morning" if run["hour"] < 12 else "afternoon"
    groups["hour"] = f"{int(run['hour']):02d}:00" if by_clock else half
    if by_clock:
        groups["tool"] = HAND if run["by_hand"] else "machine"
    warm = run["sheet_c"] if run["sheet_c"] is not None else run["ambient_c"]
    if warm is not None:
        groups["weather"] = (
            "below 10 °C" if warm < 10 else "10 to 30 °C" if warm < 30 else "above 30 °C"
        )
    groups["go-ahead"] = "with" if run["go_ahead"] else "without"
    return groups
