"""What the computation takes of a row: of a strip, and of what was looked at on a seam as if it were one.

Invariant: on a seam the setting and the conditions are its run's; what a hand welded, or nobody
knows the setting of, teaches nothing.
"""

from __future__ import annotations

import json
from typing import TypedDict

from weldcal.quality.goahead import CLEAN
from weldcal.records.times import seconds
from weldcal.row_types.work import BleedRow, PeelRow, RunRow


class SpeedRow(TypedDict):
    """The columns of a row that give the true speed."""

    dial_mark: float | None
    speed_m_per_min: float | None
    true_speed_m_per_min: float | None


class Taken(SpeedRow):
    """The columns of a strip that the computation needs; reading all of them is slow."""

    id: str
    name: str
    day: str
    hour: float
    seen_utc: str
    seen_local: str
    machine: str
    sheet: str
    lap: str
    nozzle_c: float
    nozzle_measured_c: float | None
    ambient_c: float | None
    sheet_c: float | None
    under_c: float | None
    humidity_pct: float | None
    wind_m_per_s: float | None
    line_v: float | None
    damp: int | None
    carried: str
    bubbling: str | None
    bond: str
    parted: str | None


def bond_of(row: Taken) -> str | None:
    """How a pull went: one that parted clean where the faces met did not hold, whatever it was called.

    Args:
        row: of a strip or a sample.

    Returns:
        good or cold; None where nobody pulled.
    """
    if row["bond"] == "not tried":
        return None
    return "cold" if row["parted"] == CLEAN else row["bond"]


def checked(check: BleedRow, run: RunRow) -> Taken | None:
    """A bleed check as a strip made at its run's setting.

    Args:
        check: its row.
        run: the run that had welded its place.

    Returns:
        None where that is a hand's, or its setting was not said.
    """
    row = _of_run(run)
    if row is not None:
        row["id"], row["name"], row["bubbling"] = check["id"], check["name"], check["bubbling"]
        row["day"], row["hour"], row["seen_local"] = (
            check["day"],
            check["hour"],
            check["seen_local"],
        )
    return row


def peeled(peel: PeelRow, run: RunRow) -> Taken | None:
    """A peel sample as a strip pulled at its run's setting, when its place was welded.

    Args:
        peel: its row.
        run: the run that had welded its place.

    Returns:
        None where that is a hand's, or its setting was not said.
    """
    row = _of_run(run)
    if row is not None:
        row["id"], row["name"] = peel["id"], peel["name"]
        row["bond"], row["parted"] = "good", peel["parted"]
        row["hour"] += (welded_s(run, peel["at_m"]) - seconds(run["seen_utc"])) / 3600.0
    return row


def welded_s(run: RunRow, at_m: float | None) -> float:
    """When a run welded a place, at one speed from start to finish; seconds since the epoch.

    Args:
        run: its row.
        at_m: the place, m from the seam's zero end.

    Returns:
        its start, where place or finish is not known.
    """
    start, end = seconds(run["seen_utc"]), run["end_m"]
    if at_m is None or end is None or run["finished_utc"] is None or end == run["start_m"]:
        return start
    share = (at_m - run["start_m"]) / (end - run["start_m"])
    return start + min(1.0, max(0.0, share)) * (seconds(run["finished_utc"]) - start)


def _of_run(run: RunRow) -> Taken | None:
    """A strip at a run's setting, of which nothing was seen yet."""
    machine, sheet, lap, nozzle_c = run["machine"], run["sheet"], run["lap"], run["nozzle_c"]
    if run["by_hand"] or machine is None or sheet is None or lap is None or nozzle_c is None:
        return None
    read_at = json.loads(run["carried"] or "{}").get("sheet_temp", run["seen_local"])
    return {
        "dial_mark": run["dial_mark"],
        "speed_m_per_min": run["speed_m_per_min"],
        "true_speed_m_per_min": run["true_speed_m_per_min"],
        "id": run["id"],
        "name": run["name"],
        "day": run["day"],
        "hour": run["hour"],
        "seen_utc": run["seen_utc"],
        "seen_local": run["seen_local"],
        "machine": machine,
        "sheet": sheet,
        "lap": lap,
        "nozzle_c": nozzle_c,
        "nozzle_measured_c": run["nozzle_measured_c"],
        "ambient_c": run["ambient_c"],
        "sheet_c": run["sheet_c"],
        "under_c": run["under_c"],
        "humidity_pct": run["humidity_pct"],
        "wind_m_per_s": run["wind_m_per_s"],
        "line_v": run["line_v"],
        "damp": run["damp"],
        "carried": json.dumps({"sheet_temp": read_at}),
        "bubbling": None,
        "bond": "not tried",
        "parted": None,
    }
