"""The model report: what was believed, what the strips taught, and how it did on its past.

Invariant: plain data, every number with its unit in its name; each morning of
the past is predicted from the days before it only. Beside the engine stand plain least squares,
what an engineer would do with today's strips and a pencil (no prior, no outlier rule, no
censoring), so that anybody can see what those bring.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from weldcal.calibration import priors, staleness
from weldcal.calibration.bracket import set_aside
from weldcal.calibration.by_day import MethodScore, by_day
from weldcal.calibration.engine import Fit
from weldcal.calibration.features import Array
from weldcal.calibration.observation import Observation, Window
from weldcal.calibration.tidy import median_mm, question

PAST_MORNINGS = 30  # the latest; each is a fit of its own


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A coefficient's prior and posterior (means and sds in `unit`); `moved` in prior sds."""

    name: str
    unit: str
    reason: str
    prior_mean: float
    prior_sd: float
    mean: float
    sd: float

    @property
    def moved(self) -> float:
        """How far the strips moved it, in prior standard deviations."""
        return (self.mean - self.prior_mean) / self.prior_sd


@dataclass(frozen=True, slots=True)
class DayTaught:
    """What a machine's day taught: its offset (ln speed) and how many strips said so."""

    day: str
    machine: str
    strips: int
    offset: float


@dataclass(frozen=True, slots=True)
class Residual:
    """A strip's width against the fit. `off` is in standard deviations of its error."""

    index: int
    id: str
    day: str
    width_mm: float
    fitted_mm: float
    off: float
    set_aside: bool


@dataclass(frozen=True, slots=True)
class PastMorning:
    """A day's first strip of its kind, forecast from the days before it."""

    day: str
    index: int
    width_mm: float
    low_mm: float
    forecast_mm: float
    high_mm: float

    @property
    def inside(self) -> bool:
        """The strip's median reading fell inside the 90 % interval."""
        return self.low_mm <= self.width_mm <= self.high_mm


@dataclass(frozen=True, slots=True)
class PlainLine:
    """Plain least squares of ln width on ln speed, over the latest day's strips of a kind.

    `elasticity` is minus its slope; widths are at the day's mean ln speed, with the 90 %
    prediction interval. No prior, nothing set aside: the rival without the model.
    """

    day: str
    strips: int
    elasticity: float
    width_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True)
class Report:
    """See the classes above. `sheet` is the sheet with most strips: elasticity is its own.

    `firm_jobs`: other jobs that taught what was believed beforehand; 0 where the tables hold.
    `rivals` is how the model and others did on days left out; empty with too few days.
    `reading_spread`, `strip_spread` (ln width) and `day_spread` (ln speed) are the scatter
    along a strip, from strip to strip and from day to day.
    """

    sheet: str
    coefficients: tuple[Coefficient, ...]
    days: tuple[DayTaught, ...]
    residuals: tuple[Residual, ...]
    set_aside: tuple[int, ...]
    past: tuple[PastMorning, ...]
    plain: PlainLine | None
    rivals: tuple[MethodScore, ...]
    reading_spread: float
    strip_spread: float
    day_spread: float
    firm_jobs: int = 0

    @property
    def covered(self) -> float | None:
        """Share of past mornings inside their 90 % interval; `None` without any."""
        if not self.past:
            return None
        return sum(m.inside for m in self.past) / len(self.past)


def report(fit: Fit, observations: Sequence[Observation], window: Window) -> Report:
    """The report on a fit.

    Args:
        fit: of these observations, with what other jobs taught where there is such knowledge:
            the past and the days left out then begin with it too.
        observations: the same ones, in the order seen.
        window: the job's limits, mm.

    Returns:
        the report.
    """
    counts = Counter(o.sheet for o in observations)
    sheet = counts.most_common(1)[0][0] if counts else ""
    outer = fit.outer(sheet)
    judged = window.by_bleed_out
    aside = set_aside(fit, sheet) if judged else []
    return Report(
        sheet=sheet,
        coefficients=_coefficients(fit, sheet),
        days=_days(fit, sheet),
        residuals=_residuals(fit, sheet, set(aside)),
        set_aside=tuple(aside),
        past=_past(fit, observations, window) if judged else (),
        plain=_plain(observations) if judged else None,
        rivals=by_day(observations, window, fit.seed, fit.known) if judged else (),
        reading_spread=fit.data.reading_spread,
        strip_spread=float(outer.weight @ outer.spreads.strip),
        day_spread=float(outer.weight @ outer.spreads.day),
        firm_jobs=len(fit.known.knowledge.jobs) if fit.known else 0,
    )


def _coefficients(fit: Fit, sheet: str) -> tuple[Coefficient, ...]:
    outer = fit.outer(sheet)
    modes, weight = outer.mode.point.u, outer.weight
    mean = weight @ modes
    inner = np.diagonal(np.linalg.inv(outer.mode.hessian), axis1=1, axis2=2)
    sd = np.sqrt(weight @ (inner + (modes - mean) ** 2))
    before, before_sd = _believed(fit, sheet)
    numbers = np.column_stack([before, before_sd, mean, sd]).tolist()
    return tuple(
        Coefficient(name, prior.unit, prior.reason, *row)
        for name, prior, row in zip(fit.layout.names, fit.layout.priors, numbers, strict=True)
        if not name.endswith(":")  # the unseen sheet and machine: prior only
    )


def _believed(fit: Fit, sheet: str) -> tuple[Array, Array]:
    """Means and sds before the job's strips: what other jobs taught, else the tables."""
    if fit.known is not None:
        belief = fit.known.belief(fit.layout, sheet)
        return belief.mean, np.sqrt(np.diagonal(belief.cov))
    table = fit.layout.priors
    return np.array([p.mean for p in table]), np.array([p.sd for p in table])


def _days(fit: Fit, sheet: str) -> tuple[DayTaught, ...]:
    offsets = fit.center(sheet).t[0].tolist()
    strips = np.bincount(fit.data.cell, minlength=len(offsets)).tolist()
    return tuple(
        DayTaught(day, machine, count, offset)
        for (day, machine), count, offset in zip(fit.data.cells, strips, offsets, strict=True)
    )


def _residuals(fit: Fit, sheet: str, aside: set[int]) -> tuple[Residual, ...]:
    if not fit.window.by_bleed_out:
        return ()
    fitted, miss, scale, at = fit.residuals(sheet)
    return tuple(
        Residual(
            index=int(i),
            id=fit.observations[i].id,
            day=fit.observations[i].day,
            width_mm=float(np.exp(mu + off)),
            fitted_mm=float(np.exp(mu)),
            off=float(off / sd),
            set_aside=int(i) in aside,
        )
        for mu, off, sd, i in zip(fitted, miss, scale, at, strict=True)
    )


def _past(fit: Fit, observations: Sequence[Observation], window: Window) -> tuple[PastMorning, ...]:
    """The first strip of each machine, sheet and lap on each of the latest days."""
    days = sorted({o.day for o in observations})
    mornings = []
    for day in days[max(1, len(days) - PAST_MORNINGS) :]:
        earlier = fit.of([o for o in observations if o.day < day])
        seen = set()
        for i, o in enumerate(observations):
            kind = (o.machine, o.sheet, o.lap)
            if o.day != day or o.on_seam or kind in seen or not median_mm(o) > 0.0:
                continue
            seen.add(kind)
            asked = staleness.by_now(question(o))
            forecast = earlier.forecast(asked, [o.speed_m_per_min], o.nozzle_c, window)[0]
            mornings.append(
                PastMorning(
                    day,
                    i,
                    median_mm(o),
                    forecast.width_low_mm,
                    forecast.width_mm,
                    forecast.width_high_mm,
                )
            )
    return tuple(mornings)


def _plain(observations: Sequence[Observation]) -> PlainLine | None:
    """The latest day's kind with the most strips; `None` below three, or at one speed."""
    if not observations:
        return None
    day = max(o.day for o in observations)
    kinds = Counter(
        (o.machine, o.sheet, o.lap) for o in observations if o.day == day and median_mm(o) > 0.0
    )
    if not kinds:
        return None
    kind, strips = kinds.most_common(1)[0]
    rows = [
        o
        for o in observations
        if o.day == day and (o.machine, o.sheet, o.lap) == kind and median_mm(o) > 0.0
    ]
    speed: Array = np.log([o.speed_m_per_min for o in rows])
    if strips < 3 or float(np.ptp(speed)) < 1e-6:
        return None
    line = least_squares(
        np.column_stack([np.ones(strips), speed - speed.mean()]),
        np.log([median_mm(o) / priors.WIDTH_MM for o in rows]),
    )
    middle, low, high = (priors.WIDTH_MM * float(np.exp(v)) for v in line.interval([1.0, 0.0]))
    return PlainLine(day, strips, -float(line.estimates[1]), middle, low, high)


_CHANCE = 0.90


class TooFewRowsError(ValueError):
    """Fewer rows than coefficients: plain least squares has nothing to say."""


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """Estimates and their standard deviations (p,), residual standard deviation, degrees of
    freedom; `covariance[p, p]` of the estimates per unit of residual variance."""

    estimates: Array
    deviations: Array
    residual: float
    freedom: int
    covariance: Array

    def interval(self, x: ArrayLike) -> tuple[float, float, float]:
        """Prediction at one row `x` (p,): middle, and ends of the 90 % interval of a new one.

        Args:
            x: columns of the row, (p,).

        Returns:
            middle, low and high, in the unit of `y`.
        """
        row = np.asarray(x, dtype=float)
        middle = float(row @ self.estimates)
        spread = self.residual * float(np.sqrt(1.0 + row @ self.covariance @ row))
        wide = float(stdtrit(self.freedom, 0.5 + _CHANCE / 2.0)) * spread
        return middle, middle - wide, middle + wide


def least_squares(x: ArrayLike, y: ArrayLike) -> LeastSquares:
    """Least squares of `y[n]` on the columns of `x[n, p]` by Householder QR, `n > p`.

    Columns are scaled to unit length first, and one step of iterative refinement follows
    (Golub & Van Loan, Matrix Computations, 5.3). Raises TooFewRowsError.

    Args:
        x: columns, (n, p).
        y: what they explain, (n,).

    Returns:
        coefficients, their covariance and the residual's sd.

    Raises:
        TooFewRowsError: no more rows than columns.
    """
    raw, target = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    rows, columns = raw.shape
    if rows <= columns:
        raise TooFewRowsError(f"{rows} rows for {columns} coefficients")
    lengths = np.sqrt((raw**2).sum(axis=0))
    q, r = np.linalg.qr(raw / lengths)
    inverse = np.linalg.inv(r)
    scaled = inverse @ (q.T @ target)
    scaled = scaled + inverse @ (q.T @ (target - (raw / lengths) @ scaled))
    residuals = target - raw @ (scaled / lengths)
    freedom = rows - columns
    residual = float(np.sqrt(residuals @ residuals / freedom))
    covariance = (inverse @ inverse.T) / np.outer(lengths, lengths)
    return LeastSquares(
        scaled / lengths, residual * np.sqrt(np.diag(covariance)), residual, freedom, covariance
    )
