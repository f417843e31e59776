"""Advice as the pages show it: the question, what it rests on, the answer, what to do with it.

Invariant: plain SI values, as the computation gives them; numpy and its kin are not imported
here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.quality.dial import MachineDial

if TYPE_CHECKING:
    from weldcal.calibration import (
        Advice,
        DayState,
        Fit,
        Forecast,
        From,
        KnownNames,
        NextStrip,
        Observation,
        Reach,
        SpeedQuestion,
        Window,
    )
    from weldcal.quality.standing import Trigger


class Asked(Struct, frozen=True):
    """A question to the computation, with what it rests on and what shows the answer.

    Attributes:
        question, window, reach: as the computation takes them.
        observations: the job's strips and bleed checks.
        dial: of the machine asked about.
        units: the job's.
        at: the time asked about.
        carried: condition -> time it was read, for those not given now.
        left_out: strips with no speed known behind their mark.
        nozzle_offset_k: what the nozzle's air is off its reading; nozzle temperatures in
            question and answer are of the air, so the reading to set is less by this.
        known, rests: what the firm's other jobs taught, and from how many of them.
    """

    question: SpeedQuestion
    window: Window
    reach: Reach
    observations: list[Observation]
    dial: MachineDial
    units: str
    at: str
    carried: dict[str, str]
    left_out: int
    nozzle_offset_k: float
    known: KnownNames | None = None
    rests: From | None = None

    def fitted(self) -> Fit:
        """The computation's fit of what was asked."""
        from weldcal.calibration import fit

        return fit(self.observations, self.window, known=self.known)


class Dialled(Struct, frozen=True):
    """Advice with what it was asked; `recorded` says whether it could be kept."""

    asked: Asked
    advice: Advice
    recorded: bool

    @property
    def advised(self) -> Forecast:
        """What the setting advised would give; not to be asked for where the verdict is STOP."""
        assert self.advice.forecast is not None
        return self.advice.forecast

    @property
    def to_try(self) -> NextStrip | Forecast:
        """The setting of the next strip: the one that teaches most, else the one advised."""
        return self.advice.next_strip or self.advised


class Curve(Struct, frozen=True):
    """What every speed of the dial would give a machine that works, what the strips of its kind
    gave, and whether it works."""

    asked: Asked
    forecasts: list[Forecast]
    strips: list[Observation]
    state: DayState


class Stands(Struct, frozen=True):
    """A go-ahead of the kind asked about.

    Attributes:
        level: good, look, strip_again or wait.
        speed, nozzle: its setting as typed.
        mark: its speed as the dial shows it; None where the dial shows another thing.
        until: the time by which somebody has to look again, ISO 8601; None where nothing says.
        only_old: an old reading is all that calls for a look.
    """

    name: str
    level: str
    speed: str
    nozzle: str
    mark: float | None
    until: str | None
    only_old: bool


class Then(Struct, frozen=True):
    """What to do with a speed advised.

    Attributes:
        kind: machine and sheet by name, where the job has more than one of either.
        waits: stop rules broken now.
        read_at: when the sheet (else the air) was read, where that is over its limit.
        pull: the strip of this kind that waits for its pull.
        stands: the newest go-ahead of this kind today.
        was: the speed advised before, m/min.
        out: the machine is taken out, and nobody named a cause: no strip brings it back yet.
    """

    kind: tuple[str, ...] = ()
    waits: tuple[Trigger, ...] = ()
    read_at: str | None = None
    pull: str | None = None
    stands: Stands | None = None
    was: float | None = None
    out: bool = False


class First(Struct, frozen=True):
    """What comes first by a go-ahead, beyond what its own rules say.

    Attributes:
        pull: strips of its kind that lack nothing but their pull, where it no longer permits.
        read: the sheet has to be read again before anything else.
        trial: the advice for the strip to be made; None where none is.
    """

    pull: tuple[str, ...] = ()
    read: bool = False
    trial: Dialled | None = None


def pressing(dialled: Dialled, then: Then) -> str:
    """What has to be done first, as a code, which selects the one thing to do."""
    if dialled.advice.forecast is None:
        return "stop"
    if then.waits:
        return "wait"
    if then.out:
        return "cause"
    if then.pull:
        return "pull"
    if then.read_at:
        return "read"
    if dialled.advice.capped:
        return f"far_{dialled.advice.capped}"
    stands = then.stands
    if stands is None or stands.level not in ("look", "good"):
        return "strip"
    other = _other_speed(dialled, stands)
    if stands.level == "look":
        return "look_other" if other else "look"
    doubted = dialled.advice.second_strip
    if doubted is not None and doubted.strip.name == stands.name:
        return "other_lucky" if other else "lucky"
    return "other" if other else "weld"


def _other_speed(dialled: Dialled, stands: Stands) -> bool:
    """Whether the speed advised is another mark of the dial than the go-ahead's."""
    advised = dialled.asked.dial.mark(dialled.advised.speed_m_per_min)
    return stands.mark is not None and stands.mark != advised
