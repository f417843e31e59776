"""One judged morning: first advice, strips to a go-ahead, and two o'clock.

Invariant: all methods meet the same roof, history, conditions and luck (the noise of
strip k depends on seed, roof and k alone). A morning ends at the first strip that
passes the job's rule, or after `MOST` strips; then, with no new strip, the method
advises for 14:00. "Good" is the truth of the advised setting (no strip effect, no
reading noise, the day's true shifts). Beside it, where the method says how sure it is:
the same advice after one sample cut at noon from the lap welded at the speed then advised,
of which only the pull is seen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tests.bench.crew import history
from tests.bench.days import (
    AFTERNOON,
    MORNING,
    Day,
    Strip,
    calendar,
    passes,
    question,
    read_air,
    weld,
)
from tests.bench.methods import Choice, Known, Method, Prediction, Scene, felt_c
from tests.bench.roofs import SPEEDS, Kind, Roof, draw_roof
from weldcal.calibration.observation import Observation

MOST = 6
LONGEST = 20
NOON = 12.0

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Arm:
    """Days of history, and whether a few of its strips are damp, mistyped or gusty."""

    days: int
    corrupted: bool


@dataclass
class Morning:
    """A roof with its judged day, and the rows that accumulate for one method."""

    roof: Roof
    day: Day
    seed: int
    earlier: tuple[Observation, ...]
    read_once: bool = False

    def ask(self, method: Method, today: tuple[Observation, ...], hour: float, draw: int) -> Choice:
        """The method's choice under the conditions read at that hour, or once in the morning."""
        if self.read_once:
            air, luck = self.day.air(self.roof, MORNING), self.luck(500)
            self.read = replace(read_air(self.roof, air, luck), hour=MORNING)
        else:
            self.read = read_air(self.roof, self.day.air(self.roof, hour), self.luck(500 + draw))
        self.asked = question(self.day, self.read, hour)
        return method.choose(
            Known(self.earlier, today, self.asked), Scene(self.roof, self.day, hour)
        )

    def weld(self, speed: float, hour: float, draw: int) -> Strip:
        """A strip at that speed under the conditions last read."""
        return weld(self.roof, self.day, hour, speed, self.luck(600 + draw), self.read)

    def good(self, speed: float, hour: float) -> bool:
        """Whether that setting is truly good at that hour."""
        air = self.day.air(self.roof, hour)
        truth = self.roof.physics.respond(
            np.array([speed]), self.day.nozzle_c, air, self.day.machine, self.day.shift
        )
        return bool(truth.good().item())

    def step_c(self, today: tuple[Observation, ...]) -> float:
        """How far the felt temperature is from the latest observation's, K."""
        rows = self.earlier + today
        return felt_c(self.asked) - felt_c(rows[-1]) if rows else float("nan")

    def luck(self, draw: int) -> np.random.Generator:
        """The noise of this morning's draw of that number."""
        return np.random.default_rng([self.seed, self.roof.number, draw])


def mornings(
    number: int,
    kind: Kind,
    world: str,
    seed: int,
    arms: tuple[Arm, ...],
    *,
    read_once: bool = False,
) -> list[tuple[Arm, Morning]]:
    """The same judged day on one roof, behind histories of each arm.

    `read_once`: the crew, which always reads the sheet, reads the air of the judged day at its
    first strip only, and nobody notes the sky.
    """
    roof, days = _job(number, kind, world, seed)
    roof = replace(roof, reads_sheet=roof.reads_sheet or read_once)
    made = {
        corrupted: history(
            roof, days[:-1], np.random.default_rng([seed, number, 2]), corrupted=corrupted
        )
        for corrupted in {arm.corrupted for arm in arms}
    }
    out = []
    for arm in arms:
        kept = {d.name for d in days[LONGEST - arm.days : -1]} if arm.days else set()
        rows = tuple(r for r in made[arm.corrupted] if r.day in kept)
        out.append((arm, Morning(roof, days[-1], seed, rows, read_once)))
    return out


def _job(number: int, kind: Kind, world: str, seed: int) -> tuple[Roof, tuple[Day, ...]]:
    """A roof and its days; redrawn while the judged day leaves no workable window.

    With less than 10 % between slowest and fastest good speed, morning or afternoon, a
    crew would change the nozzle temperature, which is not judged here.
    """
    for attempt in range(50):
        own = number + 1_000_000 * attempt
        roof = draw_roof(own, kind, world, seed)
        days = calendar(roof, LONGEST + 1, np.random.default_rng([seed, own, 1]))
        if min(window_width(roof, days[-1], hour) for hour in (MORNING, AFTERNOON)) >= 0.10:
            return roof, days
    raise RuntimeError(f"no workable {kind} roof for number {number}")


def window_width(roof: Roof, day: Day, hour: float) -> float:
    """Log of the fastest over the slowest truly good speed; 0 where there is none."""
    fine = np.linspace(np.log(SPEEDS[0]), np.log(SPEEDS[-1]), 300)
    air = day.air(roof, hour)
    truth = roof.physics.respond(np.exp(fine), day.nozzle_c, air, day.machine, day.shift)
    return float(truth.good().sum() * (fine[1] - fine[0]))


def judge(morning: Morning, method: Method) -> tuple[Row, list[Row]]:
    """One row for the morning, and one for every prediction it made."""
    today: tuple[Observation, ...] = ()
    row: Row = {
        "sure_at": -1,
        "sure_wrong": False,
        "ever_sure": False,
        "ever_sure_wrong": False,
        "to_good": MOST + 1,
        "go": False,
        "false_go": False,
        "stopped": False,
        "asked_again": False,
    }
    checks: list[Row] = []
    for n in range(MOST):
        hour = MORNING + 0.25 * n
        choice = morning.ask(method, today, hour, n)
        good = morning.good(choice.speed, hour)
        _note_sure(row, choice, good, n)
        row["stopped"] |= choice.stop
        strip = morning.weld(choice.run, hour, n)
        stage = "first" if n == 0 else "later"
        _check(checks, stage, choice.at_run, strip, morning.step_c(today))
        today += (strip.seen,)
        if strip.good and row["to_good"] > MOST:
            row["to_good"] = n + 1
        if passes(strip.seen):
            row.update(go=True, false_go=not strip.good)
            row["asked_again"] = morning.ask(method, today, hour, 200 + n).again
            break
    row["strips"] = len(today)
    if row["false_go"]:  # the seam shows it, and one more strip is due
        row["to_good"] = min(row["to_good"], len(today) + 1)
    if len(today) == 1:  # also after a go-ahead at once: is it sure now?
        hour = MORNING + 0.25
        choice = morning.ask(method, today, hour, 1)
        _note_sure(row, choice, morning.good(choice.speed, hour), 1)
        row["stopped"] |= choice.stop
    choice = morning.ask(method, today, AFTERNOON, 100)
    _afternoon(row, checks, morning, choice, today)
    if choice.sure is not None:
        _pulled_at_noon(row, morning, method, today)
    return row, checks


def _pulled_at_noon(
    row: Row, morning: Morning, method: Method, today: tuple[Observation, ...]
) -> None:
    """What is advised at 2 p.m. where one sample of the lap welded at noon was pulled as well."""
    noon = morning.ask(method, today, NOON, 300)
    welded = morning.weld(noon.speed, NOON, 300).seen
    sample = replace(welded, readings_mm=(), bubbling=None, on_seam=True)
    choice = morning.ask(method, (*today, sample), AFTERNOON, 100)
    row.update(
        noon_sure=noon.sure,
        noon_good=morning.good(noon.speed, NOON),
        noon_held=sample.bond == "good",
        pulled_sure=choice.sure,
        pulled_good=morning.good(choice.speed, AFTERNOON),
        pulled_stop=choice.stop,
    )


def _afternoon(
    row: Row, checks: list[Row], morning: Morning, choice: Choice, today: tuple[Observation, ...]
) -> None:
    """What is advised at 2 p.m. with the morning's strips, and how it would have gone."""
    pm_good = morning.good(choice.speed, AFTERNOON)
    _note_ever(row, choice, pm_good)
    row.update(
        pm_good=pm_good,
        pm_sure=choice.sure,
        pm_but_pull=choice.but_pull,
        pm_chance=choice.chance,
        pm_step=morning.step_c(today),
        pm_stop=choice.stop,
        pm_speed=choice.speed,
    )
    _check(
        checks, "pm", choice.at_speed, morning.weld(choice.speed, AFTERNOON, 100), row["pm_step"]
    )


def _note_sure(row: Row, choice: Choice, good: bool, n: int) -> None:
    if n < 2:
        row[f"sure{n}"] = choice.sure
        row[f"good{n}"] = good
        row[f"speed{n}"] = choice.speed
        row[f"chance{n}"] = choice.chance
    if choice.sure and row["sure_at"] < 0:
        row.update(sure_at=n, sure_wrong=not good)
    _note_ever(row, choice, good)


def _note_ever(row: Row, choice: Choice, good: bool) -> None:
    """Whether any answer of the day was sure, and whether any sure one was not good."""
    row["ever_sure"] |= bool(choice.sure)
    row["ever_sure_wrong"] |= bool(choice.sure and not good)


def _check(
    checks: list[Row], stage: str, said: Prediction | None, strip: Strip, step_c: float
) -> None:
    if said is not None:
        checks.append(
            {
                "stage": stage,
                "step_c": step_c,
                "median_mm": said.median_mm,
                "low_mm": said.low_mm,
                "high_mm": said.high_mm,
                "actual_mm": strip.median_mm,
                "p_bubbling": said.bubbling,
                "bubbled": strip.seen.bubbling != "none",
            }
        )
