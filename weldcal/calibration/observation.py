"""What the computation is given and what it is asked: plain values in SI, no files.

Invariant: nothing here knows of entries, tables or the terminal. A number's
name says its unit; `None` says "not read", never a stand-in value.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from weldcal.physics.sheet_path import Sky
from weldcal.physics.sun import SunSite

# Words of the record, which are text to a type checker: rows hold them so.
Bubbling: TypeAlias = str  # none, trace, heavy
Bond: TypeAlias = str  # good, cold
Lap: TypeAlias = str  # selvage, granules, sand, film
Capped = Literal["", "warmer", "colder"]

SIXTEENTH_MM = 25.4 / 16


@dataclass(frozen=True, slots=True)
class Beside:
    """Air, °C, and wind, m/s, as read by the time the sheet was; `None` where nobody had."""

    air_c: float | None = None
    wind_m_per_s: float | None = None


@dataclass(frozen=True, slots=True)
class Observation:
    """One test strip, or one bleed check or peel sample of a seam, as the regression sees it.

    Attributes:
        day: the job's local day, ISO ("2026-06-01"). Observations of one day
            share that day's offset.
        machine, sheet, lap: what was welded with what.
        nozzle_c: nozzle air temperature as set, °C (measured, where measured).
        speed_m_per_min: travel speed, m/min (true speed, where measured).
        ambient_c, sheet_c, wind_m_per_s, humidity_pct, line_v: conditions,
            `None` where not read. `sheet_c` is the sheet's surface temperature.
        rated_v: the machine's rated voltage, V.
        damp: the sheet was noted damp.
        readings_mm: bleed-out readings along the strip, mm; 0.0 is "less than
            can be read", a censored reading. Empty where the sheet is not
            judged by bleed-out.
        reading_step_mm: the step the readings were rounded to, mm.
        bubbling: `None` where nobody looked.
        bond: `None` where the pull was not tried.
        hour: local hour of the day, 0-24, `None` where unknown.
        hour_sheet_read: the hour at which the sheet's temperature was read, where it was
            carried over; of the day before, below 0. `None`: read then.
        sheet_read_c: the sheet as read, where `sheet_c` is where it is taken to be by now
            (`staleness.by_now`); else `None`.
        beside: the weather of that hour, where it was read again since; `None`: as said here.
        site: where and on which day, `None` where nobody said.
        sky: as noted, `None` where nobody did.
        on_seam: a bleed check or a peel sample of a seam rather than a strip.
        after_event: since the one before, power was lost or another roll was begun.
        after_damp: since the one before, somebody noted damp.
        repairs: repairs of the machine that lie before it, as the caller counts them.
        seen_s: when it was seen, seconds since any epoch, `None` where unknown.
        name: what people call it, "" where it has none.
        id: whatever the caller needs to find it again.
    """

    day: str
    machine: str
    sheet: str
    lap: Lap
    nozzle_c: float
    speed_m_per_min: float
    ambient_c: float | None = None
    sheet_c: float | None = None
    wind_m_per_s: float | None = None
    humidity_pct: float | None = None
    line_v: float | None = None
    rated_v: float | None = None
    damp: bool = False
    readings_mm: tuple[float, ...] = ()
    reading_step_mm: float = SIXTEENTH_MM
    bubbling: Bubbling | None = None
    bond: Bond | None = None
    hour: float | None = None
    hour_sheet_read: float | None = None
    sheet_read_c: float | None = None
    beside: Beside | None = None
    site: SunSite | None = None
    sky: Sky | None = None
    on_seam: bool = False
    after_event: bool = False
    after_damp: bool = False
    repairs: int = 0
    seen_s: float | None = None
    name: str = ""
    id: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """What makes a weld acceptable: the job's limits as numbers.

    Attributes:
        low_mm, aim_mm, high_mm: bleed-out limits and the width aimed for, mm.
        by_bleed_out: False for a sheet judged by bond and bubbling alone
            (a thermoplastic lap may show no bleed-out when perfect).
        trace_ok: trace bubbling passes.
        threshold: joint chance from which advice counts as sure.
        bond_holds_h: hours after which a lap that was pulled and held says nothing of what is
            welded now: as long as the job lets welding go on without another strip.
    """

    low_mm: float
    aim_mm: float
    high_mm: float
    by_bleed_out: bool = True
    trace_ok: bool = False
    threshold: float = 0.8
    bond_holds_h: float = 5.0  # as the go-ahead's rule has it, where the job adopted no other


@dataclass(frozen=True, slots=True)
class Reach:
    """The settings that machine and sheet maker allow, in SI.

    Attributes:
        speed_min, speed_max: m/min.
        speeds: the speeds the dial can be set to, m/min, ascending; empty
            means every `speed_step` between the two.
        speed_step: m/min.
        nozzle_min, nozzle_max: °C.
    """

    speed_min: float
    speed_max: float
    speed_step: float
    nozzle_min: float
    nozzle_max: float
    speeds: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class SpeedQuestion:
    """What to advise for: now, this machine, this sheet, this lap kind.

    `nozzle_c` is the chosen nozzle temperature, °C, or `None` to search over
    `nozzles_c`. Conditions, `hour`, `hour_sheet_read`, `sheet_read_c`, `beside`, `site`, `sky` and
    `repairs` as in :class:`Observation`. `unknown_marks` counts the day's strips and checks of
    its kind that are no observations: nobody knows the speed behind their mark.
    """

    day: str
    machine: str
    sheet: str
    lap: Lap
    nozzle_c: float | None = None
    nozzles_c: tuple[float, ...] = ()
    ambient_c: float | None = None
    sheet_c: float | None = None
    wind_m_per_s: float | None = None
    humidity_pct: float | None = None
    line_v: float | None = None
    rated_v: float | None = None
    hour: float | None = None
    hour_sheet_read: float | None = None
    sheet_read_c: float | None = None
    beside: Beside | None = None
    site: SunSite | None = None
    sky: Sky | None = None
    repairs: int = 0
    unknown_marks: int = 0


@dataclass(frozen=True, slots=True)
class Forecast:
    """What one setting would give, by joint draws of the posterior.

    Attributes:
        nozzle_c, speed_m_per_min: the setting.
        width_mm, width_low_mm, width_high_mm: median and 90 % interval of the
            next strip's median reading, unrounded, mm.
        chance: joint chance of inside the limits, no bubbling and bonded.
        chance_too_little, chance_too_much, chance_bubbling, chance_cold:
            marginal chances; they overlap and do not sum with `chance` to 1.
        chance_heavy: chance of heavy bubbling.
    """

    nozzle_c: float
    speed_m_per_min: float
    width_mm: float
    width_low_mm: float
    width_high_mm: float
    chance: float
    chance_too_little: float
    chance_too_much: float
    chance_bubbling: float
    chance_cold: float
    chance_heavy: float


@dataclass(frozen=True, slots=True)
class AdviceReason:
    """One thing that moved the advice: a code, and its numbers in SI.

    `effect` is the change of speed it brought, m/min. `values` hold what a
    sentence needs (SI, unit in the key); the sentence is made where it is
    shown, in the reader's units and language.
    """

    code: str
    effect: float
    values: dict[str, float | str]

    def number(self, name: str) -> float:
        """One of the numbers, by its name.

        Args:
            name: a key of `values`.

        Returns:
            the number, SI.
        """
        return float(self.values[name])


@dataclass(frozen=True, slots=True)
class NextStrip:
    """The setting expected to teach most while staying weldable, and why."""

    nozzle_c: float
    speed_m_per_min: float
    gain: float
    reason: str
    forecast: Forecast


@dataclass(frozen=True, slots=True)
class DayState:
    """Whether this machine, on this sheet, is today what it was: chances that sum to 1.

    Attributes:
        working: it is; whatever the last strips show is chance.
        machine: its heat jumped by an unknown amount.
        bond: bonds fail whatever the heat.
        bubbling: it bubbles whatever the heat.
        since: position, in the observations given, of the one from which it most likely
            is not; `None` where it is working.
        jump: heat index that the machine most likely jumped by, below 0 colder.
        aside: positions of today's observations from before it was mended: they say
            nothing of a working machine.
    """

    working: float = 1.0
    machine: float = 0.0
    bond: float = 0.0
    bubbling: float = 0.0
    since: int | None = None
    jump: float = 0.0
    aside: tuple[int, ...] = ()

    @property
    def broken(self) -> float:
        """Chance that something is broken."""
        return 1.0 - self.working


@dataclass(frozen=True, slots=True)
class Sign:
    """A pattern among today's strips that asks for a look: a code of `rules/causes.py` and
    the observations that show it."""

    code: str
    shown_by: tuple[Observation, ...] = ()


@dataclass(frozen=True, slots=True)
class SecondStrip:
    """A strip that passed, and the chance that its setting is truly good: under the job's
    threshold, so that one more is worth making."""

    strip: Observation
    chance: float


@dataclass(frozen=True, slots=True)
class BondSeen:
    """The day's last lap that was pulled and held.

    Attributes:
        name: of the strip or sample; `hour`: when it was welded.
        more_since: something was welded and looked at since, its bond not.
    """

    name: str
    hour: float | None
    more_since: bool


@dataclass(frozen=True, slots=True)
class SpeedStep:
    """Another speed later in the day, if the sky stays as it is.

    Attributes:
        hour: of the local day, to ten minutes.
        temperature_c: of the sheet then (of the air, where nobody reads the sheet).
        speed_m_per_min: best from there on.
    """

    hour: float
    temperature_c: float
    speed_m_per_min: float


@dataclass(frozen=True, slots=True)
class AsRead:
    """What would be advised had the sheet just been read as it was: the speed, m/min, and whether
    that would be sure."""

    speed_m_per_min: float
    sure: bool


@dataclass(frozen=True, slots=True)
class Advice:
    """The answer to a :class:`SpeedQuestion`. Advice is never a go-ahead.

    Attributes:
        forecast: what the advised setting would give; `None` where the verdict is STOP:
            then no speed is advised.
        sure: the joint chance meets the threshold and the setting lies
            inside what the strips bracket.
        doubts: codes saying why it is not sure, empty when it is.
        speed_low, speed_high: range of speeds that keeps the joint chance
            above the threshold, m/min; `None` where no speed does.
        holds_until_sheet_c: sheet temperature at which this setting stops
            being the best, °C (`None`: not within the range looked at);
            `speed_from_there`: the speed from there, m/min.
        next_strip: what to run next when not sure.
        reasons: what moved the advice most, largest first, at most three.
        rests_on: counts: strips_today, strips_earlier, days_earlier,
            set_aside, bleed_checks, peel_samples.
        state: whether machine and surface are what they were.
        stop: something is broken, more likely than the threshold of `stopping.py`.
        signs: what today's strips show that heat alone does not explain.
        sheet_unsure_k: sd of the sheet about its last reading, K; 0 where it is read now.
        capped: "warmer" or "colder": the sheet is so far from all that was tried that the
            speed was held back; "" where it was not.
        second_strip: the last strip passed, and yet the model doubts its setting.
        bond_seen: what today's bonds are known by; `None` where nothing was pulled and held.
        sheet_now_c: where the sheet is taken to be now, °C, after an older reading; `None`
            where it is taken as read.
        as_read: what its age alone changed; `None` where the sheet is read now, or not at all.
        steps: the rest of the day from now on, if the sky stays as it is.
    """

    forecast: Forecast | None
    sure: bool
    doubts: tuple[str, ...]
    speed_low: float | None
    speed_high: float | None
    holds_until_sheet_c: float | None
    speed_from_there: float | None
    next_strip: NextStrip | None
    reasons: tuple[AdviceReason, ...]
    rests_on: dict[str, int]
    state: DayState = DayState()
    stop: bool = False
    signs: tuple[Sign, ...] = ()
    sheet_unsure_k: float = 0.0
    capped: Capped = ""
    second_strip: SecondStrip | None = None
    bond_seen: BondSeen | None = None
    sheet_now_c: float | None = None
    as_read: AsRead | None = None
    steps: tuple[SpeedStep, ...] = ()
