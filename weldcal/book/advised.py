"""The speed that the guided day offers: what is advised for how things stand.

Invariant: advice is offered only for what it was given for. Whatever was recorded since, a
reading that changed, or a quarter of an hour, and it is worked out again.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Protocol

from weldcal.book.core import Service
from weldcal.book.machines import offset_at
from weldcal.errors import Misplaced, Missing, NoneYet, Unheard
from weldcal.quality.dial import MachineDial
from weldcal.quality.go_ahead_rules import RULES
from weldcal.records.advice_given import answer_of, question_of
from weldcal.records.day import Advised, SpeedWanted
from weldcal.records.fields import read
from weldcal.records.times import seconds, stamp
from weldcal.row_types.work import AdviceRow

if TYPE_CHECKING:
    from weldcal.book.dialling import Dialling
    from weldcal.book.job_reader import JobReader
    from weldcal.book.machines import Machines
    from weldcal.book.observing import Observing
    from weldcal.book.standing import GoAheads


_LASTS_S = 900.0  # as long as a reading counts as just made


# Kinds of entries that leave advice as it was.
_NO_MATTER = (
    "advice",
    "person",
    "seam",
    "area",
    "sheet",
    "walk",
    "finding",
    "mend",
    "seal",
    "handed",
)


class _Setting(Protocol):
    """A setting to try: of the record, or of advice just worked out."""

    @property
    def nozzle_c(self) -> float:
        """Temperature of the nozzle's air, °C."""

    @property
    def speed_m_per_min(self) -> float:
        """Travel speed, m/min."""


class Advising(Service):
    """Advice for what holds now."""

    _reader: JobReader
    _dialling: Dialling
    _go_aheads: GoAheads
    _machines: Machines
    _observing: Observing

    def reading_counts_h(self) -> float:
        """Hours after which a reading is too old to be taken on trust: the job's limit."""
        rules = [rule for rule in self._go_aheads.rules(RULES) if rule.code == "reading_age"]
        return rules[0].threshold or 0.0

    def advised_now(self, date: str) -> Advised | None:
        """The setting advised last, where it is still for how things stand; else None.

        Args:
            date: the job's local day, ISO.
        """
        rows = self._reader.of_job(
            AdviceRow, "AND day = ? ORDER BY tick DESC, device DESC LIMIT 1", date
        )
        if not rows or self._moved_since(rows[0]):
            return None
        question, answer = question_of(rows[0]["question"]), answer_of(rows[0]["answer"])
        wanted = SpeedWanted(question.machine, question.sheet, question.lap)
        try:
            dial, _row = self._machines.dial_of(wanted.machine)
        except (Misplaced, Unheard):
            return None
        return self._setting_shown(dial, wanted, answer.to_try)

    def advised_for(self, wanted: SpeedWanted) -> Advised | None:
        """The setting advised for answers given so far; None where no advice can be given.

        Args:
            wanted: machine, sheet, lap kind, and what was read, as typed.
        """
        units = self._reader.job.units
        nozzle = read("nozzle", wanted.nozzle, units).si("C") if wanted.nozzle else None
        try:
            asked = self._dialling.ask(
                machine=wanted.machine,
                sheet=wanted.sheet,
                lap=wanted.lap,
                nozzle_c=nozzle,
                given=typed_conditions(dict(wanted.weather), units),
            )
        except (Misplaced, Missing, NoneYet, Unheard):
            return None
        advice = self._dialling.advise(asked)
        return self._setting_shown(asked.dial, wanted, advice.next_strip or advice.forecast)

    def _setting_shown(
        self, dial: MachineDial, wanted: SpeedWanted, tried: _Setting | None
    ) -> Advised:
        if tried is None:  # STOP: no speed was advised
            return Advised(None, None, wanted)
        measured = self._observing.dials().measured.get(wanted.machine, [])
        set_c = tried.nozzle_c - offset_at(measured, None)
        nozzle = set_c * 9 / 5 + 32 if self._reader.job.units == "us" else set_c
        return Advised(f"{dial.mark(tried.speed_m_per_min):g}", f"{nozzle:.0f}", wanted)

    def _moved_since(self, advice: AdviceRow) -> bool:
        """Whether advice on record is no longer for how things stand."""
        now = stamp(self._reader.now())
        if not 0 <= seconds(now) - seconds(advice["seen_local"]) <= _LASTS_S:
            return True
        marks = ", ".join("?" for _kind in _NO_MATTER)
        since = self._reader.column(
            int,
            f"SELECT 1 FROM entries WHERE job = ? AND tick > ? AND kind NOT IN ({marks}) LIMIT 1",
            (self._reader.job.id, advice["tick"], *_NO_MATTER),
        )
        then = question_of(advice["question"])
        stand, _carried = self._dialling.conditions_for({}, now)
        reckoned = {
            "ambient_c": then.ambient_c,
            "sheet_c": then.sheet_c,
            "humidity_pct": then.humidity_pct,
            "wind_m_per_s": then.wind_m_per_s,
            "line_v": then.line_v,
        }
        return bool(since) or any(_apart(was, stand.get(n)) for n, was in reckoned.items())


def _apart(then: float | None, now: float | None) -> bool:
    """Whether two readings differ, in one's presence too."""
    if then is None or now is None:
        return then is not None or now is not None
    return abs(then - now) > 1e-6


_READ_AS = {
    "ambient": ("ambient_c", "C"),
    "sheet_temp": ("sheet_c", "C"),
    "humidity": ("humidity_pct", "%"),
    "wind": ("wind_m_per_s", "m/s"),
    "line_voltage": ("line_v", "V"),
}


def typed_conditions(typed: Mapping[str, str | None], units: str) -> dict[str, float]:
    """Conditions as typed, by the columns that advice uses, in SI.

    Args:
        typed: by the name of the condition; None where it was not read.
        units: the job's.
    """
    return {
        column: read(field, text, units).si(unit)
        for field, (column, unit) in _READ_AS.items()
        if (text := typed.get(field)) is not None
    }
