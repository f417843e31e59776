"""The record turned into judgement: drift, dew, charts, doubt, leaks, samples, faults.

Invariant: each verb reads rows and hands plain values to `quality` and
`physics`; no rule lives here.
"""

from __future__ import annotations

import contextlib
import json
import math
from typing import Any

from weldcal.book.machines import on_dial
from weldcal.book.upkeep import Upkeep
from weldcal.errors import Misplaced, NoJob, NotAChoice
from weldcal.physics.dewpoint import Dampness, dampness
from weldcal.physics.power import (
    Drop,
    GaugeAnswer,
    LosesAll,
    Supply,
    conductor,
    conductors,
    drop,
    thinnest,
)
from weldcal.quality.dial import Dial
from weldcal.quality.measure import (
    Drift,
    HeatCheck,
    Measured,
    SpeedCheck,
    heat_check,
    history,
)
from weldcal.quality.measure import drift as drift_of
from weldcal.quantities import UNITS, Quantity
from weldcal.rules.welded import seconds
from weldcal.words import _


class Judging(Upkeep):
    """Verbs that judge."""

    def drift(
        self, machine: str
    ) -> tuple[list[dict[str, Any]], tuple[SpeedCheck, ...], Drift, list[str]]:
        """A machine's measurements against its dial as listed, what they say, and the seams concerned."""
        dial = self.machine(machine)["dial"]
        rows = [
            {**r, "mark": on_dial(dial, r)}
            for r in self.measures(machine)
            if r["mark"] is not None and r["distance_m"]
        ]
        believed = self._believed(machine, rows)
        taken = [
            Measured(
                seconds(r["seen_local"]),
                r["mark"],
                r["distance_m"],
                tuple(json.loads(r["times_s"])),
            )
            for r in rows
        ]
        checks = history(taken, believed)
        found = drift_of(checks)
        affected: list[str] = []
        if found.doubt_since_s is not None:
            runs = self.rows(
                "SELECT seam, finished_utc FROM runs WHERE job = ? AND machine = ? ORDER BY seen_utc",
                (self.job.id, machine),
            )
            affected = [r["seam"] for r in runs if _finished(r) > found.doubt_since_s]
        return rows, checks, found, list(dict.fromkeys(affected))

    def _believed(self, machine: str, rows: list[dict[str, Any]]) -> Dial:
        """The dial as listed; bare marks that were not listed as first measured."""
        row = self.machine(machine)
        marks = {float(mark): float(speed) for mark, speed in json.loads(row["marks"])}
        if row["dial"] == "mark":
            for one in rows:
                marks.setdefault(float(one["mark"]), one["speed_m_per_min"])
        return Dial(
            row["dial"],
            row["dial_low"],
            row["dial_high"],
            row["dial_step"],
            tuple(sorted(marks.items())),
        )

    def heat_checks(self, machine: str) -> list[tuple[dict[str, Any], HeatCheck]]:
        """A machine's measured nozzle temperatures, each against its reading."""
        rows = [
            r
            for r in self.measures(machine)
            if r["nozzle_measured_c"] is not None and r["nozzle_set_c"] is not None
        ]
        return [(r, heat_check(r["nozzle_measured_c"], r["nozzle_set_c"])) for r in rows]

    def units_or_us(self) -> str:
        """The job's units; US customary where there is no job."""
        try:
            return self.job.units
        except NoJob:
            return "us"

    def power(
        self,
        volts: float,
        length_m: float,
        load: Quantity,
        cord: str | None,
        phases: int,
        most: float,
        units: str,
    ) -> tuple[Supply, Drop | None, GaugeAnswer]:
        """Voltage drop of a cord, and the thinnest conductor that holds `most`.

        Args:
            load: what the machine draws: a current, or its power as rated at `volts`.

        Raises:
            NotAChoice: no such conductor in the tables.
            Misplaced: the load cannot flow through such a cord at all.
        """
        watts = load.unit in UNITS["power"]
        supply = Supply(
            volts=volts,
            length_m=length_m,
            load_a=None if watts else load.si("A"),
            load_w=load.si("W") if watts else None,
            phases=phases,
        )
        system, size = _cord(cord, units)
        try:
            lost = drop(supply, conductor(system, size)) if size is not None else None
            return supply, lost, thinnest(supply, system, most)
        except LosesAll:
            raise Misplaced(
                text=cord or "",
                why=_("such a cord would lose all the voltage at this load; no machine runs on it"),
            ) from None
        except (KeyError, ValueError):
            names = ", ".join(dict.fromkeys(c.name for c in conductors(system)))
            raise NotAChoice(name=_("conductor"), text=cord or "", allowed=names) from None

    def dew(self, given: dict[str, float]) -> tuple[Dampness | None, dict[str, Any]]:
        """How near the sheet is to dew, by conditions given or last read; and those conditions."""
        last = self.last_conditions(self.now().isoformat())
        names = {
            "ambient_c": "ambient",
            "humidity_pct": "humidity",
            "sheet_c": "sheet_temp",
            "wind_m_per_s": "wind",
            "line_v": "line_voltage",
        }
        now = {
            column: given.get(column, last.get(name, (None,))[0]) for column, name in names.items()
        }
        damp = self.noted_damp()
        known = [now[c] for c in ("ambient_c", "humidity_pct", "sheet_c")]
        found = None
        if None not in known:
            with contextlib.suppress(ValueError):  # weather beyond the formula: not known
                found = dampness(*(float(v) for v in known if v is not None))
        return found, {**now, "damp": damp}


def _finished(run: dict[str, Any]) -> float:
    return seconds(run["finished_utc"]) if run["finished_utc"] else math.inf


def _cord(text: str | None, units: str) -> tuple[str, float | None]:
    """`12AWG` or `12`, `4mm2`: the table and the size."""
    if text is None:
        return ("us" if units == "us" else "metric"), None
    plain = text.lower().replace("²", "2").replace(" ", "")
    metric = plain.endswith("mm2") or (units == "si" and not plain.endswith("awg"))
    number = plain.removesuffix("mm2").removesuffix("awg").lstrip("#")
    try:
        return ("metric" if metric else "us"), float(number)
    except ValueError:
        return ("metric" if metric else "us"), -1.0
