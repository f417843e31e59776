"""The model as a scikit-learn estimator, for those who want to compare it with others.

Invariant: the same engine as the advice; nothing here fits in another way. This module
imports scikit-learn and is imported only when somebody asks for it.

    >>> from weldcal.calibration.lap_regressor import LapRegressor
    >>> X = [[1.5, 500.0, 20.0], [1.7, 500.0, 20.0], [1.9, 500.0, 21.0]]
    >>> known = LapRegressor().fit(X, [7.9, 6.4, 4.8])
    >>> bool(known.predict([[1.6, 500.0, 20.0]])[0] > known.predict([[1.8, 500.0, 20.0]])[0])
    True
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils.validation import (
    check_array,
    check_consistent_length,
    check_is_fitted,
    column_or_1d,
)

from weldcal.calibration import tidy
from weldcal.calibration.engine import fit as fit_engine
from weldcal.calibration.features import Array
from weldcal.calibration.knowledge import KnownNames
from weldcal.calibration.observation import Bond, Bubbling, Observation, Window
from weldcal.calibration.outcome import Outcomes, strip_noise

Event = Literal["bubbling", "cold", "good"]


class LapRegressor(RegressorMixin, BaseEstimator):  # type: ignore[misc]
    """Bleed-out of a lap from setting and conditions, by the model of MODEL.md.

    Parameters
    ----------
    low_mm, aim_mm, high_mm : float
        Bleed-out limits and the width aimed for, mm.
    trace_ok : bool
        Trace bubbling passes.
    seed : int
        Of the posterior's draws.
    known : Known, optional
        What the firm's other jobs taught.

    Attributes
    ----------
    fit_ : Fit
        The engine's fit.
    observations_ : tuple of Observation
        What it was fitted to.
    n_features_in_ : int
        Columns of `X`; not set where `X` was a list of observations.

    Notes
    -----
    `X` is a data frame with some of `tidy.COLUMNS` (at least a speed and a nozzle
    temperature), a list of :class:`Observation`, or an array whose columns are the first
    of `tidy.NUMBERS`: speed (m/min), nozzle (°C), sheet (°C), air (°C), wind (m/s) ...
    NaN says "not read". Days, machines and sheets are levels: name them in a frame.
    """

    def __init__(
        self,
        low_mm: float = 3.175,
        aim_mm: float = 6.35,
        high_mm: float = 9.525,
        trace_ok: bool = False,
        seed: int = 0,
        known: KnownNames | None = None,
    ) -> None:
        self.low_mm = low_mm
        self.aim_mm = aim_mm
        self.high_mm = high_mm
        self.trace_ok = trace_ok
        self.seed = seed
        self.known = known

    def fit(
        self,
        X: Any,
        y: ArrayLike,
        *,
        bubbling: Sequence[Bubbling | None] | None = None,
        bond: Sequence[Bond | None] | None = None,
    ) -> LapRegressor:
        """Fit to strips.

        Args:
            X: data frame, array (n, p) or list of n observations.
            y: bleed-out, mm, (n,): the median reading; 0 is "less than can be read". Readings of
                observations teach the scatter along a strip too.
            bubbling, bond: n of `none`, `trace`, `heavy`; of `good`, `cold`. `None` where nobody
                looked.

        Returns:
            itself.

        Raises:
            ValueError: no `y`, a setting that cannot be, or lengths that differ.
        """
        if y is None:
            raise ValueError("LapRegressor requires y to be passed, but the target y is None")
        rows = self._rows(X, fitting=True)
        flat = column_or_1d(y, warn=True)
        widths = check_array(flat, ensure_2d=False, dtype=float, input_name="y")
        check_consistent_length(rows, widths)
        found = [
            row if row.readings_mm else replace(row, readings_mm=(float(width),))
            for row, width in zip(rows, widths, strict=True)
        ]
        self.observations_ = tuple(_with_seen(found, bubbling, bond))
        self.fit_ = fit_engine(self.observations_, self._window(), seed=self.seed, known=self.known)
        return self

    def predict(
        self, X: Any, return_std: bool = False, quantiles: Sequence[float] | None = None
    ) -> Any:
        """Median bleed-out of the next strip's median reading at each row, mm.

        Args:
            X: as for `fit`.
            return_std: also its standard deviation, mm.
            quantiles: q chances; their quantiles are returned instead.

        Returns:
            mm: an array (n,), a pair of them, or an array (n, q).
        """
        draws = [self._widths(found) for found in self._outcomes(X)]
        if quantiles is not None:
            return np.array([np.quantile(d, list(quantiles)) for d in draws])
        middle = np.array([np.median(d) for d in draws])
        return (middle, np.array([d.std() for d in draws])) if return_std else middle

    def predict_proba(self, X: Any, event: Event = "bubbling") -> Array:
        """Chance of an event at each row.

        Args:
            X: as for `fit`.
            event: `bubbling` that fails the limits; a `cold` bond; `good`: the weld right in all
                respects.

        Returns:
            chances of not and of it, (n, 2).

        Raises:
            ValueError: another event.
        """
        field = "joint" if event == "good" else event
        if field not in ("joint", "bubbling", "cold"):
            raise ValueError(f"event must be bubbling, cold or good, not {event!r}")
        chance = np.array([getattr(found, field).mean() for found in self._outcomes(X)])
        return np.column_stack([1.0 - chance, chance])

    def __sklearn_tags__(self) -> Any:
        tags = super().__sklearn_tags__()
        tags.input_tags.allow_nan = True  # "not read"
        return tags

    def _window(self) -> Window:
        return Window(self.low_mm, self.aim_mm, self.high_mm, trace_ok=self.trace_ok)

    def _outcomes(self, X: Any) -> list[Outcomes]:
        check_is_fitted(self, "fit_")
        return [
            self.fit_.outcomes(tidy.question(o), [o.nozzle_c], [o.speed_m_per_min])
            for o in self._rows(X, fitting=False)
        ]

    def _widths(self, found: Outcomes) -> Array:
        noise = strip_noise(len(found.log_width), self.seed)
        return np.asarray(np.exp(found.log_width + found.scale * noise[:, None]), dtype=float)[:, 0]

    def _rows(self, X: Any, *, fitting: bool) -> list[Observation]:
        if hasattr(X, "columns"):
            self._same_columns(list(X.columns), fitting)
            return [tidy.observation(row) for row in X.to_dict("records")]
        if isinstance(X, Sequence) and len(X) and isinstance(X[0], Observation):
            return list(X)
        table = check_array(X, dtype=float, ensure_all_finite="allow-nan", estimator=self)
        if fitting:
            self.n_features_in_ = table.shape[1]
        elif table.shape[1] != self.n_features_in_:
            raise ValueError(
                f"X has {table.shape[1]} features, but {type(self).__name__} is expecting "
                f"{self.n_features_in_} features as input"
            )
        if not len(tidy.NEEDED) <= table.shape[1] <= len(tidy.NUMBERS):
            raise ValueError(
                f"X needs {len(tidy.NEEDED)} to {len(tidy.NUMBERS)} columns, in this order: "
                + ", ".join(tidy.NUMBERS)
            )
        names = tidy.NUMBERS[: table.shape[1]]
        return [tidy.observation(dict(zip(names, row, strict=True))) for row in table]

    def _same_columns(self, names: list[str], fitting: bool) -> None:
        lacking = [name for name in tidy.NEEDED if name not in names]
        if lacking:
            raise ValueError(f"X lacks the column {lacking[0]}")
        if fitting:
            self.n_features_in_ = len(names)
            self.feature_names_in_ = np.array(names, dtype=object)


def _with_seen(
    rows: list[Observation],
    bubbling: Sequence[Bubbling | None] | None,
    bond: Sequence[Bond | None] | None,
) -> list[Observation]:
    """The rows with what was seen of bubbling and bond, where that was given."""
    if bubbling is not None:
        check_consistent_length(rows, bubbling)
        rows = [replace(o, bubbling=b) for o, b in zip(rows, bubbling, strict=True)]
    if bond is not None:
        check_consistent_length(rows, bond)
        rows = [replace(o, bond=b) for o, b in zip(rows, bond, strict=True)]
    return rows
