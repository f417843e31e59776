"""The record judged: drift, dew, charts, doubt, leaks, samples, faults.

Invariant: each verb reads rows and hands plain values to `quality` and
`physics`; no rule lives here.
"""

from __future__ import annotations

import contextlib
import json
import math
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Service
from weldcal.book.machines import dial_with, on_dial
from weldcal.errors import Misplaced, NoJob, NotAChoice
from weldcal.physics import power as cords
from weldcal.physics.dewpoint import Dampness, dampness
from weldcal.quality.dial import MachineDial
from weldcal.quality.measure import Measured, heat_check, history
from weldcal.quality.measure import drift as drift_of
from weldcal.quantities import UNITS, Quantity
from weldcal.records.times import seconds
from weldcal.row_types.listed import MachineRow
from weldcal.views.measured import AirRead, Drifted, Heats
from weldcal.views.rows import MarkedMeasure
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dials import Dials
    from weldcal.book.job_reader import JobReader
    from weldcal.book.last_read import LastRead
    from weldcal.book.site import Site


class _Finished(TypedDict):
    """When a run on a seam was finished, UTC."""

    seam: str
    finished_utc: str | None


class Judging(Service):
    """Drift, heat, power and dew, from what was measured."""

    _reader: JobReader
    _dials: Dials
    _site: Site
    _last_read: LastRead

    def drift(self, machine: str) -> Drifted:
        """A machine's measurements against its dial as listed, and what they say.

        Args:
            machine: as it is listed.

        Raises:
            Unheard: it is not listed.
        """
        row = self._dials.machine(machine)
        rows: list[MarkedMeasure] = []
        taken: list[Measured] = []
        for measure in self._site.measures(machine):
            mark, distance_m = on_dial(row["dial"], measure), measure["distance_m"]
            if mark is not None and distance_m:
                at, times = seconds(measure["seen_local"]), tuple(json.loads(measure["times_s"]))
                rows.append({**measure, "mark": mark})
                taken.append(Measured(at, mark, distance_m, times))
        checks = history(taken, _believed(row, rows))
        drift = drift_of(checks)
        since = drift.doubt_since_s
        affected = () if since is None else self._seams_since(machine, since)
        return Drifted(tuple(zip(rows, checks, strict=True)), drift, affected)

    def _seams_since(self, machine: str, since_s: float) -> tuple[str, ...]:
        """Seams on which a machine was still welding after a time."""
        runs = self._reader.part(_Finished, "runs", "AND machine = ? ORDER BY seen_utc", machine)
        return tuple(dict.fromkeys(r["seam"] for r in runs if _finished(r) > since_s))

    def heat_checks(self, machine: str) -> Heats:
        """A machine's measured nozzle temperatures, each against its reading.

        Args:
            machine: as it is listed.
        """
        return [
            (measure, heat_check(measured, set_to))
            for measure in self._site.measures(machine)
            if (measured := measure["nozzle_measured_c"]) is not None
            and (set_to := measure["nozzle_set_c"]) is not None
        ]

    def units_or_us(self) -> str:
        """The job's units; US customary where there is no job."""
        try:
            return self._reader.job.units
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
    ) -> tuple[cords.Supply, cords.Drop | None, cords.GaugeAnswer]:
        """Voltage drop of a cord, and the thinnest conductor that holds `most`.

        Args:
            volts: at the supply.
            length_m: of the cord, m.
            load: what the machine draws: a current, or its power as rated at `volts`.
            cord: its conductor, as typed; where not given, only the thinnest is worked out.
            phases: 1 or 3.
            most: the share of the voltage that may be lost.
            units: us or si: which table of conductors.

        Raises:
            NotAChoice: no such conductor in the tables.
            Misplaced: the load cannot flow through such a cord at all.
        """
        watts = load.unit in UNITS["power"]
        supply = cords.Supply(
            volts=volts,
            length_m=length_m,
            load_a=None if watts else load.si("A"),
            load_w=load.si("W") if watts else None,
            phases=phases,
        )
        system, size = _cord(cord, units)
        try:
            lost = cords.drop(supply, cords.conductor(system, size)) if size is not None else None
            return supply, lost, cords.thinnest(supply, system, most)
        except cords.LosesAll:
            raise Misplaced(
                text=cord or "",
                why=_("such a cord would lose all the voltage at this load; no machine runs on it"),
            ) from None
        except (KeyError, ValueError):
            names = ", ".join(dict.fromkeys(c.name for c in cords.conductors(system)))
            raise NotAChoice(name=_("conductor"), text=cord or "", allowed=names) from None

    def dew(self, given: dict[str, float]) -> tuple[Dampness | None, AirRead]:
        """How near the sheet is to dew, and the conditions that count.

        Args:
            given: ambient_c, humidity_pct, sheet_c, wind_m_per_s, line_v; as last read, where
                not given.

        Returns:
            None for the dew where air, humidity or sheet is not known.
        """
        last = self._last_read.conditions(self._reader.now().isoformat())

        def now(column: str, name: str) -> float | None:
            return given[column] if column in given else last[name][0] if name in last else None

        air = AirRead(
            ambient_c=now("ambient_c", "ambient"),
            humidity_pct=now("humidity_pct", "humidity"),
            sheet_c=now("sheet_c", "sheet_temp"),
            wind_m_per_s=now("wind_m_per_s", "wind"),
            line_v=now("line_v", "line_voltage"),
            damp=self._last_read.noted_damp(),
        )
        if air.ambient_c is None or air.humidity_pct is None or air.sheet_c is None:
            return None, air
        with contextlib.suppress(ValueError):  # weather beyond the formula: not known
            return dampness(air.ambient_c, air.humidity_pct, air.sheet_c), air
        return None, air


def _believed(machine: MachineRow, measures: list[MarkedMeasure]) -> MachineDial:
    """The dial as listed; bare marks that were not listed as first measured."""
    marks = {float(mark): float(speed) for mark, speed in json.loads(machine["marks"])}
    if machine["dial"] == "mark":
        for measure in measures:
            if measure["mark"] is not None and measure["speed_m_per_min"] is not None:
                marks.setdefault(measure["mark"], measure["speed_m_per_min"])
    return dial_with(machine, marks)


def _finished(run: _Finished) -> float:
    """When a run was finished, seconds; one that is still open never was."""
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
