"""Dialling in: the job's strips handed to the computation, its answer kept.

Invariant: the computation gets plain SI values and gives plain SI values; what
went in, what came out and by which version is recorded. numpy and its kin are
imported here only, inside the verbs that need them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from weldcal.book.knowing import Knowing
from weldcal.book.machines import offset_at
from weldcal.book.observing import asked_hours
from weldcal.book.sunlit import site_of
from weldcal.errors import Misplaced, Missing, Unheard
from weldcal.quality.dial import Dial
from weldcal.records.times import stamp
from weldcal.views.dialled import Asked, Curve
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.knowing import Knowing
    from weldcal.book.limits import Limits
    from weldcal.book.machines import Machines
    from weldcal.book.observing import Observing
    from weldcal.book.strips import Strips
    from weldcal.calibration import (
        Advice,
        CardLine,
        DayState,
        Reach,
        Report,
        Step,
        Window,
    )
    from weldcal.physics.sheet_path import Sky


class Dialling:
    """Questions to the computation, and its answers. Nothing is recorded."""

    def __init__(
        self,
        reader: JobReader,
        knowing: Knowing,
        limits: Limits,
        machines: Machines,
        observing: Observing,
        strips: Strips,
    ) -> None:
        self._reader = reader
        self._knowing = knowing
        self._limits = limits
        self._machines = machines
        self._observing = observing
        self._strips = strips

    def ask(
        self,
        *,
        machine: str | None = None,
        sheet: str | None = None,
        lap: str = "selvage",
        nozzle_c: float | None = None,
        search_nozzle: bool = False,
        given: dict[str, float] | None = None,
        at: str | None = None,
        by: str | None = None,
        sky: Sky | None = None,
    ) -> Asked:
        """Put the question: for conditions given, or last read where not.

        Args:
            machine, sheet: names; where not given the only ones listed, else those used last.
            nozzle_c: nozzle temperature, °C; that of the last strip, where not given.
            search_nozzle: look over the machine's nozzle temperatures too.
            given: ambient_c, sheet_c, humidity_pct, wind_m_per_s, line_v.
            sky: as noted; where not given, as last recorded.

        Raises:
            Unheard: no such machine; Misplaced: its dial is tied to no speed, or the
                nozzle temperature lies outside its range.
        """
        from weldcal.calibration import Question

        machine = self._one("machines", machine, _("machine"))
        sheet = self._one("sheets", sheet, _("sheet"))
        dial, row = self._machines.dial_of(machine)
        self._check_reach(machine, dial, row, nozzle_c)
        now = stamp(self._reader.now()) if at is None else self._reader.seen(by or "-", at).at
        conditions, carried = self.conditions_for(given or {}, now)
        offset = offset_at(self._observing.dials().measured.get(machine, []), None)
        nozzle, nozzles = None, tuple(t + offset for t in _nozzles(row))
        if not search_nozzle:
            nozzle, nozzles = (nozzle_c or self._last_nozzle(machine, sheet, row)) + offset, ()
        hour, read = asked_hours(carried.get("sheet_c"), now)
        question = Question(
            day=self._strips.day_of(now),
            machine=machine,
            sheet=sheet,
            lap=lap,  # type: ignore[arg-type]
            nozzle_c=nozzle,
            nozzles_c=nozzles,
            rated_v=row["rated_v"],
            hour=hour,
            hour_sheet_read=read,
            site=site_of(self._reader.job, now),
            sky=sky or self._observing.skies().at(now),
            repairs=self._observing.repairs_before(machine, now),
            **conditions,
        )
        observations = self._observing.observations()
        window = self.window(sheet)
        total = self._reader.rows(
            "SELECT count(*) AS n FROM strips WHERE job = ? AND NOT by_hand", (self._reader.job.id,)
        )[0]["n"]
        return Asked(
            question,
            window,
            _reach(dial, row, offset),
            observations,
            dial,
            self._reader.job.units,
            now,
            carried,
            total - sum(not o.on_seam for o in observations),
            offset,
            *self._knowing.firm_knows(machine, sheet, window),
        )

    def _one(self, table: str, given: str | None, what: str) -> str:
        """The machine or sheet named; else the only one, else the one used last."""
        try:
            return self._reader.listed(table, given, what)[0]
        except Missing:
            used = self.last_used(table.removesuffix("s"))
            if used is None:
                raise
            return used

    def last_used(self, what: str) -> str | None:
        """The `machine` or `sheet` of the newest strip or run; None where there is neither yet."""
        rows = self._reader.rows(
            f"SELECT {what} AS name FROM (SELECT {what}, seen_utc, tick, device FROM strips WHERE job = ?1 AND NOT by_hand "
            f"UNION ALL SELECT {what}, seen_utc, tick, device FROM runs WHERE job = ?1 AND by_hand = 0) "
            "ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (self._reader.job.id,),
        )
        return rows[0]["name"] if rows else None

    def state_of(self, strip: Mapping[str, Any]) -> DayState:
        """Whether a strip's machine and sheet are now what they were: as advice has it.

        Where no advice can be had (a dial tied to no speed), nothing speaks against them.
        """
        from weldcal.calibration import DayState

        try:
            asked = self.ask(machine=strip["machine"], sheet=strip["sheet"], lap=strip["lap"])
        except (Misplaced, Unheard):
            return DayState()
        return asked.fitted().state(asked.question)

    def advise(self, asked: Asked) -> Advice:
        """The advice for a question. Nothing is recorded."""
        return asked.fitted().advise(asked.question, asked.window, asked.reach)

    def card_span(self, asked: Asked) -> tuple[float, float]:
        """From 10 K below what it is now to 25 K above, °C: a day's span, where nobody says another."""
        q = asked.question
        here = (
            q.sheet_c if q.sheet_c is not None else q.ambient_c if q.ambient_c is not None else 20.0
        )
        return here - 10, here + 25

    def card(self, asked: Asked, temps_c: Sequence[float]) -> tuple[CardLine, ...]:
        """The pocket card: the speed for each sheet temperature (ambient, where none is read)."""
        from weldcal.calibration import card

        by_ambient = asked.question.sheet_c is None and asked.question.ambient_c is not None
        known = asked.fitted()
        return card(known, asked.question, asked.window, asked.reach, temps_c, by_ambient)

    def day_ahead(self, asked: Asked) -> tuple[Step, ...]:
        """The steps of the rest of the day, if the sky stays as it is."""
        from weldcal.calibration.advice import day_ahead

        return day_ahead(asked.fitted(), asked.question, asked.window, asked.reach)

    def curve(self, asked: Asked) -> Curve:
        """What each speed of the dial would give now."""
        q = asked.question
        nozzle = q.nozzle_c if q.nozzle_c is not None else q.nozzles_c[0]
        known = asked.fitted()
        state = known.state(q)
        forecasts = known.without(state.aside).forecast(
            q, list(asked.reach.speeds), nozzle, asked.window
        )
        kind = [
            o for o in asked.observations if (o.sheet, o.lap) == (q.sheet, q.lap) and o.readings_mm
        ]
        return Curve(asked, forecasts, kind, state)

    def model_report(self, asked: Asked) -> Report:
        """What was believed, what the strips taught, and how it did on this job's past."""
        from weldcal.calibration import report

        known = asked.fitted()
        return report(known, asked.observations, asked.window)

    def _check_reach(
        self, machine: str, dial: Dial, row: dict[str, Any], nozzle_c: float | None
    ) -> None:
        if not dial.settings():
            raise Misplaced(
                text=machine,
                why=_(
                    "its dial shows bare numbers and no two marks are tied to a speed yet; measure them"
                ),
            )
        if nozzle_c is not None and not row["nozzle_low_c"] <= nozzle_c <= row["nozzle_high_c"]:
            raise Misplaced(
                text=machine,
                why=_(
                    "its nozzle may be set from {low:.0f} to {high:.0f} °C only",
                    low=row["nozzle_low_c"],
                    high=row["nozzle_high_c"],
                ),
            )

    def window(self, sheet: str, at_utc: str | None = None) -> Window:
        """The limits in force (at a time, where given) as the computation takes them."""
        from weldcal.calibration import Window

        limits = self._limits.acceptance(sheet, at_utc)
        return Window(
            low_mm=limits.low_mm + limits.guard_mm,
            aim_mm=limits.aim_mm,
            high_mm=limits.high_mm - limits.guard_mm,
            by_bleed_out=limits.by_bleed_out,
            trace_ok=limits.trace_passes,
            threshold=float(self._limits.limits()["advice_chance"].value.number) / 100,
        )

    def conditions_for(
        self, given: dict[str, float], at: str
    ) -> tuple[dict[str, float], dict[str, str]]:
        """Conditions given, filled with the day's last readings.

        A sheet temperature read before an ambient that is given now is not carried over:
        the sheet has moved with the weather.
        """
        columns = {
            "ambient": "ambient_c",
            "sheet_temp": "sheet_c",
            "humidity": "humidity_pct",
            "wind": "wind_m_per_s",
            "line_voltage": "line_v",
        }
        found, carried = dict(given), {}
        for name, (value, read_at) in self._strips.last_conditions(at).items():
            column = columns.get(name)
            if column is None or column in found:
                continue
            if column == "sheet_c" and "ambient_c" in given:
                continue
            if column == "ambient_c" and "sheet_c" in given:
                continue
            found[column] = value
            carried[column] = read_at
        return found, carried

    def _last_nozzle(self, machine: str, sheet: str, row: dict[str, Any]) -> float:
        last = self._reader.rows(
            "SELECT nozzle_c FROM strips WHERE job = ? AND sheet = ? AND NOT by_hand "
            "ORDER BY machine = ? DESC, seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (self._reader.job.id, sheet, machine),
        )
        # 500 °C (932 °F): where crews start on SBS base sheet (common practice, no source).
        chosen = float(last[0]["nozzle_c"]) if last else 500.0
        return float(min(max(chosen, row["nozzle_low_c"]), row["nozzle_high_c"]))


def _reach(dial: Dial, row: dict[str, Any], offset: float) -> Reach:
    from weldcal.calibration import Reach

    speeds = tuple(speed for _mark, speed in dial.settings())
    step = min((b - a for a, b in pairwise(speeds)), default=0.05)
    return Reach(
        speed_min=speeds[0],
        speed_max=speeds[-1],
        speed_step=step,
        speeds=speeds,
        nozzle_min=row["nozzle_low_c"] + offset,
        nozzle_max=row["nozzle_high_c"] + offset,
    )


def _nozzles(row: dict[str, Any]) -> tuple[float, ...]:
    low, high = row["nozzle_low_c"], row["nozzle_high_c"]
    return tuple(float(t) for t in range(round(low), round(high) + 1, 20))
