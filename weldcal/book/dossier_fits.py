"""The fit of each spell of a job's strips, as the dossier draws it.

Invariant: a spell is of one day, machine, sheet, lap kind and weather; only strips whose
readings judge the sheet are drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_SEEN
from weldcal.book.observing import hour_of, true_speed
from weldcal.long_work import Progress
from weldcal.quality.welded_over import again_m, welded_m
from weldcal.row_types.work import RunRow
from weldcal.views.dossier import DayFit, FitWeather
from weldcal.views.rows import JudgedStrip
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dialling import Dialling
    from weldcal.book.job_reader import JobReader
    from weldcal.book.knowing import Knowing
    from weldcal.book.observing import Dials, Observing
    from weldcal.calibration import Fit, Observation, SpeedQuestion, Window
    from weldcal.quality.dial import MachineDial
    from weldcal.row_types.listed import MachineRow

# The latest spells are drawn, no more than these.
MOST_FITS = 30
# A strip this much warmer or colder than the one before it is drawn on a chart of its own.
_ANOTHER_WEATHER_K = 8.0
_CURVE_POINTS = 25

Spell = list[JudgedStrip]
Tried = list[tuple[JudgedStrip, float]]  # strips, and their true speed, m/min


class _Runs(Struct, frozen=True):
    """The job's runs by the id of the go-ahead that they stand on, in the order seen."""

    by_strip: dict[str, list[RunRow]]
    again_m: dict[str, float]


class DayFits(Service):
    """The fits of a job's spells of strips."""

    _reader: JobReader
    _dialling: Dialling
    _knowing: Knowing
    _observing: Observing

    def latest(self, strips: list[JudgedStrip], on_progress: Progress) -> tuple[list[DayFit], int]:
        """The latest spells' fits, oldest first, and how many were left out.

        Args:
            strips: of the job, in the order seen.
            on_progress: called with how far it is.
        """
        spells = self._spells(strips)
        drawn = spells[-MOST_FITS:]
        if not drawn:
            return [], 0
        runs, dials = self._runs(), self._observing.dials()
        fitted = _Fitted(self._knowing, self._observing.observations())
        fits = []
        for n, spell in enumerate(drawn):
            on_progress(_("fits"), n, len(drawn))
            fit = self._fit_of(spell, runs, dials, fitted)
            if fit is not None:
                fits.append(fit)
        return fits, len(spells) - len(drawn)

    def _spells(self, strips: list[JudgedStrip]) -> list[Spell]:
        """Strips of sheets judged by bleed-out, split by day, kind and weather."""
        by_bond = set(self._reader.each_of(str, "name", "sheets", "AND judged_by <> 'bleed-out'"))
        kinds: dict[tuple[str, ...], Spell] = {}
        for strip in strips:
            if strip["sheet"] not in by_bond and strip["widths_mm"]:
                key = (strip["day"], strip["machine"], strip["sheet"], strip["lap"])
                kinds.setdefault(key, []).append(strip)
        spells = [spell for kind in kinds.values() for spell in _by_weather(kind)]
        return sorted(spells, key=lambda spell: (spell[0]["seen_utc"], spell[0]["tick"]))

    def _runs(self) -> _Runs:
        runs = self._reader.of_job(RunRow, AS_SEEN)
        by_strip: dict[str, list[RunRow]] = {}
        for run in runs:
            by_strip.setdefault(run["go_ahead"] or "", []).append(run)
        return _Runs(by_strip, again_m(runs))

    def _fit_of(self, spell: Spell, runs: _Runs, dials: Dials, fitted: _Fitted) -> DayFit | None:
        """A spell's fit; None where its machine is not listed, or no speed of it is known."""
        last = spell[-1]
        dial, machine = dials.at(last["machine"], last["seen_utc"])
        speeds = [(strip, true_speed(strip, dial)) for strip in spell]
        tried = [(strip, speed) for strip, speed in speeds if speed is not None]
        if machine is None or not tried:
            return None
        window = self._dialling.window(last["sheet"], last["seen_utc"])
        fit = fitted.of(window, last["machine"], last["sheet"])
        at, nozzle_c = _weather(tried), tried[-1][0]["nozzle_c"]
        used = _used(spell, runs, dial)
        along = _spaced([v for _strip, v in tried] + [v for _seam, v, *_lengths in used])
        forecasts = fit.forecast(_question(last, machine, nozzle_c, at), along, nozzle_c, window)
        return DayFit(
            day=last["day"],
            machine=last["machine"],
            sheet=last["sheet"],
            lap=last["lap"],
            nozzle_c=nozzle_c,
            at=at,
            low_mm=window.low_mm,
            aim_mm=window.aim_mm,
            high_mm=window.high_mm,
            strips=len(tried),
            points=[
                (s["name"], v, mm, not s["shortfalls"]) for s, v in tried for mm in s["widths_mm"]
            ],
            curve=[
                (f.speed_m_per_min, f.width_mm, f.width_low_mm, f.width_high_mm) for f in forecasts
            ],
            used=used,
            firm_jobs=len(fit.known.knowledge.jobs) if fit.known else 0,
        )


class _Fitted:
    """The fit for each window, machine and sheet, made when first asked for."""

    def __init__(self, knowing: Knowing, observations: list[Observation]) -> None:
        self._knowing = knowing
        self._observations = observations
        self._made: dict[tuple[Window, str, str], Fit] = {}

    def of(self, window: Window, machine: str, sheet: str) -> Fit:
        """The fit of all observations, with what the firm knows of a machine and a sheet.

        Args:
            window: the limits then.
            machine, sheet: names as the job lists them.
        """
        from weldcal.calibration import fit

        key = (window, machine, sheet)
        if key not in self._made:
            firm, _rests = self._knowing.firm_knows(machine, sheet, window)
            self._made[key] = fit(self._observations, window, known=firm)
        return self._made[key]


def _question(
    strip: JudgedStrip, machine: MachineRow, nozzle_c: float, at: FitWeather
) -> SpeedQuestion:
    """What the curve of a spell is asked for."""
    from weldcal.calibration import SpeedQuestion

    return SpeedQuestion(
        day=strip["day"],
        machine=strip["machine"],
        sheet=strip["sheet"],
        lap=strip["lap"],
        nozzle_c=nozzle_c,
        rated_v=machine["rated_v"],
        hour=hour_of(strip["seen_local"]),
        ambient_c=at["ambient_c"],
        sheet_c=at["sheet_c"],
        humidity_pct=at["humidity_pct"],
        wind_m_per_s=at["wind_m_per_s"],
        line_v=at["line_v"],
    )


def _weather(tried: Tried) -> FitWeather:
    """The middle of what was read with the strips, SI."""
    strips = [strip for strip, _speed in tried]
    return {
        "ambient_c": _middle(strip["ambient_c"] for strip in strips),
        "sheet_c": _middle(strip["sheet_c"] for strip in strips),
        "humidity_pct": _middle(strip["humidity_pct"] for strip in strips),
        "wind_m_per_s": _middle(strip["wind_m_per_s"] for strip in strips),
        "line_v": _middle(strip["line_v"] for strip in strips),
    }


def _used(
    spell: Spell, made: _Runs, dial: MachineDial | None
) -> list[tuple[str, float, float, float]]:
    """Seam, speed (m/min), length and length welded over again (m) of a spell's finished runs."""
    return [
        (run["seam"], speed, welded_m([run]), made.again_m[run["id"]])
        for strip in spell
        for run in made.by_strip.get(strip["id"], [])
        if run["end_m"] is not None and (speed := true_speed(run, dial)) is not None
    ]


def _by_weather(kind: Spell) -> list[Spell]:
    """Strips of one kind, split where the weather was another than the spell began with."""
    spells: list[Spell] = []
    for strip in kind:
        if not spells or _other_weather(spells[-1][0], strip):
            spells.append([])
        spells[-1].append(strip)
    return spells


def _other_weather(first: JudgedStrip, strip: JudgedStrip) -> bool:
    """Whether two strips were made in different weather: by the sheet, else by the air."""
    for a, b in ((first["sheet_c"], strip["sheet_c"]), (first["ambient_c"], strip["ambient_c"])):
        if a is not None and b is not None:
            return abs(a - b) > _ANOTHER_WEATHER_K
    return False


def _middle(values: Iterable[float | None]) -> float | None:
    """The median of the values that are known."""
    given = [v for v in values if v is not None]
    return median(given) if given else None


def _spaced(speeds: list[float]) -> list[float]:
    """Speeds to draw a curve at, a third beyond those used on either side."""
    low, high = min(speeds) / 1.35, max(speeds) * 1.35
    return [low + (high - low) * n / (_CURVE_POINTS - 1) for n in range(_CURVE_POINTS)]
