"""Dialling in: the job's strips handed to the computation, its answer kept.

Invariant: the computation gets plain SI values and gives plain SI values; what
went in, what came out and by which version is recorded. numpy and its kin are
imported here only, inside the verbs that need them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.book.machines import offset_at
from weldcal.book.observing import asked_hours
from weldcal.book.sunlit import site_of
from weldcal.errors import Misplaced, Missing, Unheard
from weldcal.quality.dial import MachineDial
from weldcal.quality.go_ahead_rules import STRIP_AGAIN
from weldcal.records.times import stamp
from weldcal.row_types.listed import MachineRow
from weldcal.row_types.strips import StripRow
from weldcal.views.dialled import Asked, Curve
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.knowing import Knowing
    from weldcal.book.last_read import LastRead
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
        SpeedQuestion,
        SpeedStep,
        Window,
    )
    from weldcal.physics.sheet_path import Sky


class Dialling(Service):
    """Questions to the computation, and its answers. Nothing is recorded."""

    _reader: JobReader
    _knowing: Knowing
    _limits: Limits
    _machines: Machines
    _observing: Observing
    _last_read: LastRead
    _strips: Strips

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
            lap: the lap kind.
            nozzle_c: nozzle temperature, °C; that of the last strip, where not given.
            search_nozzle: look over the machine's nozzle temperatures too.
            given: ambient_c, sheet_c, humidity_pct, wind_m_per_s, line_v.
            at: the time asked about, as typed; now, where not given.
            by: who asks.
            sky: as noted; where not given, as last recorded.

        Raises:
            Unheard: no such machine.
            Misplaced: its dial is tied to no speed, or the nozzle temperature lies outside
                its range.
        """
        machine = self._one("machines", machine, _("machine"))
        sheet = self._one("sheets", sheet, _("sheet"))
        dial, row = self._machines.dial_of(machine)
        _check_reach(dial, row, nozzle_c)
        now = stamp(self._reader.now()) if at is None else self._reader.seen(by or "-", at).at
        conditions, carried = self.conditions_for(given or {}, now)
        offset = offset_at(self._observing.dials().measured.get(machine, []), None)
        question = self._question(row, sheet, lap, now, conditions, carried, sky)
        if search_nozzle:
            question = replace(question, nozzles_c=tuple(t + offset for t in _nozzles(row)))
        else:
            set_to = nozzle_c or self._last_nozzle(sheet, row)
            question = replace(question, nozzle_c=set_to + offset)
        observations, window = self._observing.observations(), self.window(sheet)
        known, rests = self._knowing.firm_knows(machine, sheet, window)
        return Asked(
            question=question,
            window=window,
            reach=_reach(dial, row, offset),
            observations=observations,
            dial=dial,
            units=self._reader.job.units,
            at=now,
            carried=carried,
            left_out=self._strips_made() - sum(not o.on_seam for o in observations),
            nozzle_offset_k=offset,
            known=known,
            rests=rests,
        )

    def _question(
        self,
        machine: MachineRow,
        sheet: str,
        lap: str,
        now: str,
        conditions: dict[str, float],
        carried: dict[str, str],
        sky: Sky | None,
    ) -> SpeedQuestion:
        """The question, without a nozzle temperature."""
        from weldcal.calibration import SpeedQuestion

        hour, read = asked_hours(carried.get("sheet_c"), now)
        day = self._strips.day_of(now)
        return SpeedQuestion(
            day=day,
            machine=machine["name"],
            sheet=sheet,
            lap=lap,
            rated_v=machine["rated_v"],
            hour=hour,
            hour_sheet_read=read,
            beside=self._last_read.airs().beside(
                carried.get("sheet_c"),
                conditions.get("ambient_c"),
                conditions.get("wind_m_per_s"),
            ),
            site=site_of(self._reader.job, now),
            sky=sky or self._observing.skies().at(now),
            repairs=self._observing.repairs_before(machine["name"], now),
            unknown_marks=self._observing.unknown_marks(day, machine["name"], sheet, lap),
            ambient_c=conditions.get("ambient_c"),
            sheet_c=conditions.get("sheet_c"),
            wind_m_per_s=conditions.get("wind_m_per_s"),
            humidity_pct=conditions.get("humidity_pct"),
            line_v=conditions.get("line_v"),
        )

    def _strips_made(self) -> int:
        """How many strips the job has that a machine made."""
        (count,) = self._reader.column(
            int,
            "SELECT count(*) FROM strips WHERE job = ? AND NOT by_hand",
            (self._reader.job.id,),
        )
        return count

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
        """The machine or sheet of the newest strip or run; None where there is neither yet.

        Args:
            what: `machine` or `sheet`.
        """
        rows = self._reader.column(
            str,
            f"SELECT {what} FROM (SELECT {what}, seen_utc, tick, device FROM strips WHERE job = ?1 AND NOT by_hand "
            f"UNION ALL SELECT {what}, seen_utc, tick, device FROM runs WHERE job = ?1 AND by_hand = 0) "
            f"WHERE {what} IS NOT NULL "
            "ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (self._reader.job.id,),
        )
        return rows[0] if rows else None

    def state_of(self, strip: StripRow) -> DayState:
        """Whether a strip's machine and sheet are now what they were: as advice has it.

        Where no advice can be given (a dial tied to no speed), nothing is against them.

        Args:
            strip: its row.
        """
        from weldcal.calibration import DayState

        try:
            asked = self.ask(machine=strip["machine"], sheet=strip["sheet"], lap=strip["lap"])
        except (Misplaced, Unheard):
            return DayState()
        return asked.fitted().state(asked.question)

    def advise(self, asked: Asked) -> Advice:
        """The advice for a question. Nothing is recorded.

        Args:
            asked: the question, with what it rests on.
        """
        return asked.fitted().advise(asked.question, asked.window, asked.reach)

    def card_span(self, asked: Asked) -> tuple[float, float]:
        """From 10 K below what it is now to 25 K above, °C: a day's span, where nobody says another.

        Args:
            asked: the question: its sheet temperature, else the air's, else 20 °C.
        """
        q = asked.question
        now_c = (
            q.sheet_c if q.sheet_c is not None else q.ambient_c if q.ambient_c is not None else 20.0
        )
        return now_c - 10, now_c + 25

    def card(self, asked: Asked, temps_c: Sequence[float]) -> tuple[CardLine, ...]:
        """The pocket card: the speed for each sheet temperature (ambient, where none is read).

        Args:
            asked: the question.
            temps_c: the temperatures, °C.
        """
        from weldcal.calibration import card

        by_ambient = asked.question.sheet_c is None and asked.question.ambient_c is not None
        fitted = asked.fitted()
        return card(fitted, asked.question, asked.window, asked.reach, temps_c, by_ambient)

    def day_ahead(self, asked: Asked) -> tuple[SpeedStep, ...]:
        """The steps of the rest of the day, if the sky stays as it is.

        Args:
            asked: the question.
        """
        from weldcal.calibration.advice import day_ahead

        return day_ahead(asked.fitted(), asked.question, asked.window, asked.reach)

    def curve(self, asked: Asked) -> Curve:
        """What each speed of the dial would give now.

        Args:
            asked: the question; at its nozzle temperature, else the first it would look at.
        """
        from weldcal.calibration import same_reading

        fitted = asked.fitted()
        q = same_reading.by_now(fitted, asked.question)
        nozzle = q.nozzle_c if q.nozzle_c is not None else q.nozzles_c[0]
        state = fitted.state(q)
        forecasts = fitted.without(state.aside).forecast(
            q, list(asked.reach.speeds), nozzle, asked.window
        )
        kind = [
            o for o in asked.observations if (o.sheet, o.lap) == (q.sheet, q.lap) and o.readings_mm
        ]
        return Curve(asked, forecasts, kind, state)

    def model_report(self, asked: Asked) -> Report:
        """What was believed, what the strips taught, and how it did on this job's past.

        Args:
            asked: the question.
        """
        from weldcal.calibration import report

        fitted = asked.fitted()
        return report(fitted, asked.observations, asked.window)

    def window(self, sheet: str, at_utc: str | None = None) -> Window:
        """The limits in force as the computation takes them.

        Args:
            sheet: its name.
            at_utc: the time asked about, UTC; now, where not given.
        """
        from weldcal.calibration import Window

        limits = self._limits.acceptance(sheet, at_utc)
        return Window(
            low_mm=limits.low_mm + limits.guard_mm,
            aim_mm=limits.aim_mm,
            high_mm=limits.high_mm - limits.guard_mm,
            by_bleed_out=limits.by_bleed_out,
            trace_ok=limits.trace_passes,
            threshold=float(self._limits.limits()["advice_chance"].value.number) / 100,
            bond_holds_h=min(
                (
                    rule.threshold
                    for rule in self._limits.rules()
                    if (rule.code, rule.level) == ("hours_passed", STRIP_AGAIN) and rule.threshold
                ),
                default=inf,
            ),
        )

    def conditions_for(
        self, given: dict[str, float], at: str
    ) -> tuple[dict[str, float], dict[str, str]]:
        """Conditions given, filled with the day's last readings: as if they were recorded now.

        Args:
            given: ambient_c, sheet_c, humidity_pct, wind_m_per_s, line_v.
            at: the time asked about.

        Returns:
            Conditions by the same names; and when each that was not given was read.
        """
        columns = {
            "ambient": "ambient_c",
            "sheet_temp": "sheet_c",
            "humidity": "humidity_pct",
            "wind": "wind_m_per_s",
            "line_voltage": "line_v",
        }
        conditions, carried = dict(given), {}
        for name, (value, read_at) in self._last_read.conditions(at).items():
            column = columns.get(name)
            if column is None or column in conditions:
                continue
            conditions[column] = value
            carried[column] = read_at
        return conditions, carried

    def _last_nozzle(self, sheet: str, machine: MachineRow) -> float:
        """The nozzle temperature last used on a sheet, as far as the machine can be set, °C."""
        last = self._reader.column(
            float,
            "SELECT nozzle_c FROM strips WHERE job = ? AND sheet = ? AND NOT by_hand "
            "ORDER BY machine = ? DESC, seen_utc DESC, tick DESC, device DESC LIMIT 1",
            (self._reader.job.id, sheet, machine["name"]),
        )
        # 500 °C (932 °F): where crews start on SBS base sheet (common practice, no source).
        chosen = last[0] if last else 500.0
        return min(max(chosen, machine["nozzle_low_c"]), machine["nozzle_high_c"])


def _check_reach(dial: MachineDial, row: MachineRow, nozzle_c: float | None) -> None:
    """Refuse what no setting of a machine can give.

    Raises:
        Misplaced: its dial is tied to no speed, or its nozzle cannot be set so.
    """
    if not dial.settings():
        raise Misplaced(
            text=row["name"],
            why=_(
                "its dial shows bare numbers and no two marks are tied to a speed yet; measure them"
            ),
        )
    if nozzle_c is not None and not row["nozzle_low_c"] <= nozzle_c <= row["nozzle_high_c"]:
        raise Misplaced(
            text=row["name"],
            why=_(
                "its nozzle may be set from {low:.0f} to {high:.0f} °C only",
                low=row["nozzle_low_c"],
                high=row["nozzle_high_c"],
            ),
        )


def _reach(dial: MachineDial, row: MachineRow, offset: float) -> Reach:
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


def _nozzles(row: MachineRow) -> tuple[float, ...]:
    low, high = row["nozzle_low_c"], row["nozzle_high_c"]
    return tuple(float(t) for t in range(round(low), round(high) + 1, 20))
