"""Fit once, ask often: the engine behind `fit`, `forecast` and `advise`.

Invariant: a fit never changes; what it works out on the way to an answer is
kept, and the same question always gets the same answer.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from weldcal.calibration import bracket, priors, repairs, same_reading, staleness
from weldcal.calibration.advice import advise
from weldcal.calibration.day_state import day_state
from weldcal.calibration.features import Array, Features, Levels, drift_loading, features
from weldcal.calibration.laplace import Outer
from weldcal.calibration.layout import ParameterLayout
from weldcal.calibration.observation import (
    Advice,
    DayState,
    Forecast,
    Observation,
    Reach,
    SpeedQuestion,
    Window,
)
from weldcal.calibration.outcome import Outcomes, between, forecasts, outcomes, strip_noise
from weldcal.calibration.outer import integrate
from weldcal.calibration.posterior import Draws, draw
from weldcal.calibration.response import LOG_WIDTH, Point, Response, bend, strip_variance
from weldcal.calibration.strips import WIDTH, Index, levels_of, strips

if TYPE_CHECKING:
    from weldcal.calibration.knowledge import KnownNames

SETTLED = 400  # older strips of a sheet, and times as many as today's, from which on
SETTLED_SHARE = 20  # today's do not move its coefficients
_MANY_SETTINGS = 120  # at one nozzle temperature; more are interpolated between these


class Fit:
    """What a job's strips teach. Made by :func:`fit`."""

    def __init__(
        self,
        observations: Sequence[Observation],
        window: Window,
        seed: int,
        levels: Levels | None = None,
        known: KnownNames | None = None,
    ) -> None:
        self.observations = tuple(observations)
        self.window = window
        self.seed = seed
        self.known = known if window.by_bleed_out else None
        if levels is None:
            levels = levels_of(self.observations)
            levels = self.known.levels(levels) if self.known else levels
        self.layout = ParameterLayout(levels, window.by_bleed_out)
        self.data = strips(self.observations, levels, window.by_bleed_out)
        self._cell_at = {cell: k for k, cell in enumerate(self.data.cells)}
        self._tried: dict[tuple[str, str], tuple[float, float] | None] = {}
        self._outer: dict[int, Outer] = {}
        self._draws: dict[tuple[int, str, str], Draws] = {}
        self._before: dict[tuple[str, str], Fit] = {}
        self._states: dict[tuple[str, str, str], DayState] = {}

    def of(self, observations: Sequence[Observation]) -> Fit:
        """The same model fitted to other observations.

        Args:
            observations: strips and checks, in any order.

        Returns:
            a fit with the same limits, seed and knowledge.
        """
        return Fit(observations, self.window, self.seed, known=self.known)

    def without(self, positions: Collection[int]) -> Fit:
        """The same model fitted to all observations but those at these positions.

        Args:
            positions: in `observations`.

        Returns:
            another fit; itself where there is nothing to leave out.
        """
        if not positions:
            return self
        return self.of([o for i, o in enumerate(self.observations) if i not in positions])

    def before(self, question: SpeedQuestion) -> Fit:
        """A fit that never saw what the question's machine did on its day; its coefficients are
        those of this one, name by name.

        This one itself where hundreds of the sheet's strips are older: today's few do not
        move its coefficients, and the day's offset can be drawn as of a day not seen.

        Args:
            question: whose machine and day are left out.

        Returns:
            the other fit, or this one.
        """
        cell = (question.day, question.machine)
        if cell not in self._before:
            rest = [o for o in self.observations if (o.day, o.machine) != cell]
            older = sum(o.sheet == question.sheet for o in rest)
            today = len(self.observations) - len(rest)
            if older > max(SETTLED, SETTLED_SHARE * today):
                return self
            self._before[cell] = Fit(rest, self.window, self.seed, self.layout.levels, self.known)
        return self._before[cell]

    def state(self, question: SpeedQuestion) -> DayState:
        """Whether the question's machine and sheet are today what they were.

        Args:
            question: whose machine, sheet and day are meant.

        Returns:
            chances of the states; worked out once.
        """
        key = (question.day, question.machine, question.sheet)
        if key not in self._states:
            self._states[key] = day_state(self, question)
        return self._states[key]

    def outer(self, sheet: str) -> Outer:
        """The outer integration for advice on a sheet.

        Args:
            sheet: name; one not met stands for any.

        Returns:
            points, weights and modes; worked out once a sheet.
        """
        at = self.layout.levels.sheet(sheet)
        if at not in self._outer:
            belief = self.known.belief(self.layout, sheet) if self.known else None
            self._outer[at] = integrate(self.data, self.layout, at, belief)
        return self._outer[at]

    def draws(self, question: SpeedQuestion) -> Draws:
        """Joint draws for the question's day, machine and sheet.

        Args:
            question: whose day, machine and sheet are drawn for.

        Returns:
            about 1,000 equally likely joint draws, the same each time.
        """
        at = self.layout.levels.sheet(question.sheet)
        key = (at, question.day, question.machine)
        if key not in self._draws:
            outer = self.outer(question.sheet)
            cell = (question.day, question.machine)
            self._draws[key] = draw(self.data, self.layout, outer, cell, self.seed)
        return self._draws[key]

    def forecast(
        self,
        question: SpeedQuestion,
        speeds_m_per_min: Sequence[float],
        nozzle_c: float,
        window: Window | None = None,
    ) -> list[Forecast]:
        """What each travel speed would give, at one nozzle temperature.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.
            speeds_m_per_min: travel speeds looked at, m/min.
            nozzle_c: nozzle air temperature, °C.
            window: limits, mm; the fit's own where not given.

        Returns:
            one forecast a speed, in their order.
        """
        speeds = np.asarray(speeds_m_per_min, dtype=float)
        if len(speeds) > _MANY_SETTINGS:
            coarse = np.geomspace(speeds.min(), speeds.max(), _MANY_SETTINGS)
            return between(self.forecast(question, coarse.tolist(), nozzle_c, window), speeds)
        nozzles = [nozzle_c] * len(speeds)
        outcomes = self.outcomes(question, nozzles, speeds.tolist(), window)
        noise = strip_noise(len(outcomes.log_width), self.seed)
        return forecasts(outcomes, nozzles, speeds.tolist(), noise)

    def outcomes(
        self,
        question: SpeedQuestion,
        nozzles_c: Sequence[float],
        speeds_m_per_min: Sequence[float],
        window: Window | None = None,
    ) -> Outcomes:
        """Outcomes per draw at settings (nozzle, speed), pairwise.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.
            nozzles_c: nozzle temperature of each setting, °C.
            speeds_m_per_min: travel speed of each setting, m/min.
            window: limits, mm; the fit's own where not given.

        Returns:
            arrays (draws, settings).
        """
        draws = self.draws(question)
        one = len(set(nozzles_c)) == 1
        asked, loading = self.asked(question, nozzles_c[:1] if one else nozzles_c)
        return outcomes(
            draws,
            self.layout,
            asked,
            loading,
            np.log(np.asarray(speeds_m_per_min, dtype=float)),
            window or self.window,
            self.data.reading_spread,
            same_reading.errors(self, question)
            + repairs.step(question, self.layout.levels, len(draws.t), self.seed),
        )

    def asked(self, question: SpeedQuestion, nozzles_c: Sequence[float]) -> tuple[Features, Array]:
        """Columns of a question, one row a nozzle temperature, and its loading on drift.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.
            nozzles_c: nozzle temperatures, °C.

        Returns:
            columns (nozzles, q), and ln speed per sd of drift (nozzles).
        """
        columns = features([question] * len(nozzles_c), np.array(nozzles_c), self.layout.levels)
        at = self._cell_at.get((question.day, question.machine))
        tried = columns.face_c if at is None else self.data.cell_face_c[at]
        return columns, drift_loading(columns, tried)

    def advise(self, question: SpeedQuestion, window: Window | None, reach: Reach) -> Advice:
        """The advice for a question within reach. See :mod:`weldcal.calibration.advice`.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.
            window: the job's limits, mm; the fit's own where not given.
            reach: speeds (m/min) and nozzle temperatures (°C) that may be set.

        Returns:
            the advice.

        Raises:
            NothingInReachError: no setting asked for lies within reach.
        """
        return advise(self, question, window or self.window, reach)

    def center(self, sheet: str) -> Point:
        """Most likely values of all unknowns, averaged over the outer design (K = 1).

        Args:
            sheet: whose elasticity is integrated.

        Returns:
            one point, K = 1.
        """
        outer = self.outer(sheet)
        return Point(*(outer.weight[None] @ getattr(outer.mode.point, n) for n in Point.__slots__))

    def tried_c(self, sheet: str, lap: str) -> tuple[float, float] | None:
        """Coldest and warmest sheet, °C, on which this sheet and lap kind were tried; `None`: never.

        Args:
            sheet: its name.
            lap: kind of lap.

        Returns:
            °C, coldest and warmest.
        """
        kind = (sheet, lap)
        if kind not in self._tried:
            same = (o for o in self.observations if (o.sheet, o.lap) == kind)
            faces = [bracket.face_c(staleness.by_now(o)) for o in same]
            self._tried[kind] = (min(faces), max(faces)) if faces else None
        return self._tried[kind]

    def heats(self, sheet: str) -> list[float]:
        """Heat index of every observation at the most likely values (NaN: says nothing).

        Args:
            sheet: whose elasticity is integrated.

        Returns:
            one index an observation.
        """
        heat = np.full(len(self.observations), np.nan)
        heat[self.data.kept] = Response(self.data, self.layout).heat(self.center(sheet))[0]
        return [float(z) for z in heat]

    def heat_at(self, question: SpeedQuestion, nozzle_c: float, speed_m_per_min: float) -> float:
        """Heat index of a setting at the most likely coefficients and the day's offset.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.
            nozzle_c: nozzle air temperature, °C.
            speed_m_per_min: travel speed, m/min.

        Returns:
            the index, ln speed.
        """
        asked, loading = self.asked(question, [nozzle_c])
        u = self.center(question.sheet).u[0, : self.layout.linear]
        draws = self.draws(question)
        offset = float(draws.t.mean() + loading[0] * draws.s.mean())
        return float(asked.x[0] @ u) + offset - float(np.log(speed_m_per_min))

    def likely_log_speeds(self, question: SpeedQuestion) -> tuple[float, float]:
        """Ln of the right speed: 5 % and 95 % points over draws and nozzles asked.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.

        Returns:
            ln of m/min, low and high.
        """
        nozzles = [question.nozzle_c or priors.NOZZLE_C, *question.nozzles_c]
        asked, loading = self.asked(question, nozzles)
        draws = self.draws(question)
        right = draws.u[:, : self.layout.linear] @ asked.x.T
        right += draws.t[:, None] + draws.s[:, None] * loading
        low, high = np.quantile(right, [0.05, 0.95])
        return float(low), float(high)

    def residuals(self, sheet: str) -> tuple[Array, Array, Array, Index]:
        """Of strips with a width that could be read: ln width predicted at the most likely
        coefficients, what was read less that, its scale, and the observation's position.

        Args:
            sheet: whose elasticity is integrated.

        Returns:
            ln mm, ln mm, ln mm and positions, (n,) each.
        """
        center, data, outer = self.center(sheet), self.data, self.outer(sheet)
        rows = np.flatnonzero(data.kind == WIDTH)
        strip = data.row_strip[rows]
        z = Response(data, self.layout).heat(center)[0, strip]
        u = center.u[0]
        steep = np.exp(u[self.layout.elasticity + data.features.sheet[strip]])
        rise, _, _ = bend(z, u[self.layout.curvature])
        spread = np.asarray(outer.weight @ outer.spreads.strip)
        var = data.var[rows] + strip_variance(steep, spread, data.features.strip_var[strip])
        mu = LOG_WIDTH + steep * rise
        return mu, data.value[rows] - mu, np.sqrt(var), data.kept[strip]

    def at_sheet(self, question: SpeedQuestion, sheet_c: float) -> SpeedQuestion:
        """The same question at another sheet temperature, read then.

        Args:
            question: day, machine, sheet, lap kind and conditions, SI.
            sheet_c: the other temperature, °C.

        Returns:
            the question there.
        """
        return replace(question, sheet_c=sheet_c, hour_sheet_read=None, sheet_read_c=None)


def fit(
    observations: Sequence[Observation],
    window: Window,
    *,
    seed: int = 0,
    known: KnownNames | None = None,
) -> Fit:
    """Fit the model to a job's observations (none at all gives what is known before any).

    Work is done when the first question comes, once per sheet and day asked.

    Args:
        observations: strips and checks, in any order.
        window: the job's limits, mm.
        seed: of the draws; the same each time.
        known: what the firm's other jobs taught, with whose machines and sheets these are.

    Returns:
        the fit.
    """
    return Fit(observations, window, seed, known=known)
