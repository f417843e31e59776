"""The board for the day: what is true at one moment, as the operator needs it.

Invariant: gathered from the verbs that answer each question; nothing here judges.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.calibration.observation import SpeedStep
from weldcal.records.day import Day, DayLap, GoAheadNow
from weldcal.views.dialled import Dialled, Then

USUAL_LAP = "selvage"  # what a command takes where no lap kind is named


class InWork(Struct, frozen=True):
    """A lap being welded.

    Attributes:
        since: when its run began, ISO 8601.
        about_m: where the machine is by its speed alone, m; None where that is not known.
        at_end: by its speed it has come to the lap's end.
    """

    lap: DayLap
    since: str
    about_m: float | None
    at_end: bool


class Board(Struct, frozen=True):
    """How the day stands for one machine, sheet and lap kind.

    Attributes:
        dialled: the advice, with what was asked; None where none can be had, and `why` says why.
        then: what to do with it.
        standing: the newest go-ahead of this kind.
        until: by when somebody has to look again, where it stands, ISO 8601.
        left_min: minutes until then.
        in_work: laps being welded, the newest last.
    """

    day: Day
    dialled: Dialled | None = None
    then: Then | None = None
    why: str = ""
    standing: GoAheadNow | None = None
    until: str | None = None
    left_min: float | None = None
    in_work: tuple[InWork, ...] = ()

    @property
    def lapsed(self) -> frozenset[str]:
        """What no longer holds: it rings once when it comes to that."""
        found = {f"old {name}" for name in self.old}
        if self.standing is not None and self.standing.level != "good":
            found.add(f"{self.standing.name} {self.standing.level}")
        if self.dialled is not None:
            due = [step for step in self.steps if step.hour <= self._hour]
            found |= {f"step {step.speed_m_per_min}" for step in due}
        found |= {f"wait {one.code}" for one in (self.then.waits if self.then else ())}
        return frozenset(found)

    @property
    def old(self) -> frozenset[str]:
        """Readings to be taken again: over the job's limit, or too old for the sheet under its sun."""
        found = {r.name for r in self.day.read if r.age_h > self.day.read_h}
        if self.then is not None and self.then.read_at is not None:
            names = [r.name for r in self.day.read]
            found |= {next((n for n in ("sheet_temp", "ambient") if n in names), "sheet_temp")}
        return frozenset(found)

    @property
    def steps(self) -> tuple[SpeedStep, ...]:
        """The steps of the speed that are due or to come today."""
        return self.dialled.advice.steps if self.dialled is not None else ()

    @property
    def _hour(self) -> float:
        hour = self.dialled.asked.question.hour if self.dialled is not None else None
        return 0.0 if hour is None else float(hour)
