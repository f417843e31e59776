"""The model as a scikit-learn estimator: scikit-learn's own checks, and what it must share with the engine."""

from __future__ import annotations

import warnings
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from sklearn.base import clone
from sklearn.model_selection import GridSearchCV, GroupKFold, cross_val_predict
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import FunctionTransformer
from sklearn.utils.estimator_checks import check_estimator
from sklearn.utils.validation import check_array

from weldcal.calibration import Observation, Window, fit, tidy
from weldcal.calibration.by_day import by_day
from weldcal.calibration.lap_regressor import LapRegressor

# Checks of scikit-learn that cannot hold, and why.
EXPECTED = {
    "check_regressors_no_decision_function": "it has predict_proba, for bubbling and the bond",
    "check_regressors_train": "wants a fit to random numbers; this model knows that faster is less",
}


class AnyNumbers(LapRegressor):
    """The estimator with scikit-learn's random numbers squeezed into settings, in tests only."""

    def _rows(self, X: Any, *, fitting: bool) -> list[Observation]:
        table = check_array(X, dtype=float, ensure_all_finite="allow-nan", estimator=self)
        table = np.nan_to_num(table)
        if fitting:
            self.n_features_in_ = table.shape[1]
        elif table.shape[1] != self.n_features_in_:
            raise ValueError(
                f"X has {table.shape[1]} features, but {type(self).__name__} is expecting "
                f"{self.n_features_in_} features as input"
            )
        squeezed = 1.0 / (1.0 + np.exp(-np.clip(table, -20, 20) / 10))
        settings = np.column_stack([0.5 + 4.0 * squeezed[:, 0], 450.0 + 100.0 * squeezed[:, -1]])
        return [
            tidy.observation(dict(zip(tidy.NEEDED, row, strict=True))) for row in settings.tolist()
        ]


def strips(days: int = 4) -> list[Observation]:
    """Invented strips: five a day at rising speeds, warmer days faster."""
    rng = np.random.default_rng(7)
    found = []
    for day in range(days):
        warm = 8.0 * day + 12.0
        for speed in (1.4, 1.6, 1.7, 1.8, 2.0):
            ratio = speed / (1.7 * np.exp(0.012 * (warm - 20.0)))
            width = 6.35 * ratio**-1.8 * np.exp(rng.normal(0, 0.06))
            found.append(
                Observation(
                    day=f"2026-06-{day + 1:02d}",
                    machine="blue",
                    sheet="base",
                    lap="selvage",
                    nozzle_c=500.0,
                    speed_m_per_min=speed,
                    sheet_c=warm,
                    readings_mm=tuple(width * f for f in (0.95, 1.0, 1.06)),
                    bubbling="none",
                    bond="good",
                )
            )
    return found


def test_it_is_the_engine_and_nothing_else() -> None:
    """The same observations give the same median as the engine's forecast."""
    seen = strips()
    known = LapRegressor().fit(seen, [tidy.median_mm(o) for o in seen])
    engine = fit(seen, Window(3.175, 6.35, 9.525))
    expected = [
        engine.forecast(tidy.question(o), [o.speed_m_per_min], o.nozzle_c)[0].width_mm for o in seen
    ]
    assert known.predict(seen) == pytest.approx(expected, rel=1e-9)


def test_a_data_frame_and_a_list_of_strips_say_the_same() -> None:
    """One reading a strip on both sides."""
    seen = [replace(tidy.observation(row), readings_mm=(w,)) for row, w in _rows_and_widths()]
    table = pd.DataFrame([row for row, _w in _rows_and_widths()])
    widths = [w for _row, w in _rows_and_widths()]
    from_frame = LapRegressor().fit(table, widths).predict(table)
    assert from_frame == pytest.approx(LapRegressor().fit(seen, widths).predict(seen))


def _rows_and_widths() -> list[tuple[dict[str, Any], float]]:
    return [
        ({name: getattr(o, name) for name in tidy.COLUMNS}, tidy.median_mm(o)) for o in strips()
    ]


def test_the_frame_has_a_row_a_strip_and_missing_where_nobody_read() -> None:
    """SI columns with their units in the names."""
    table = tidy.frame(strips(2))
    assert len(table) == 10
    assert table["wind_m_per_s"].isna().all()
    assert table["sheet_c"].tolist()[:1] == [12.0]
    assert set(tidy.COLUMNS) < set(table.columns)


def test_a_missing_value_of_a_frame_is_not_read() -> None:
    """Neither a damp sheet nor a machine called nan."""
    row = tidy.observation({**_rows_and_widths()[0][0], "damp": float("nan"), "machine": np.nan})
    assert (row.damp, row.machine) == (False, "machine")


@pytest.mark.parametrize(
    ("cell", "damp"), [(True, True), (1, True), (1.0, True), (False, False), (0, False)]
)
def test_a_damp_sheet_is_a_yes_or_a_one(cell: object, damp: bool) -> None:
    """As data frames hold it."""
    assert tidy.observation({**_rows_and_widths()[0][0], "damp": cell}).damp is damp


def test_spread_and_quantiles_are_of_one_distribution() -> None:
    """The median lies between the quantiles, the standard deviation is above nothing."""
    seen = strips()
    known = LapRegressor().fit(seen, [tidy.median_mm(o) for o in seen])
    middle, spread = known.predict(seen, return_std=True)
    low, median, high = known.predict(seen, quantiles=(0.05, 0.5, 0.95)).T
    assert median == pytest.approx(middle)
    assert ((low < middle) & (middle < high) & (spread > 0)).all()


def test_more_heat_never_bubbles_less_nor_bonds_worse() -> None:
    """Slower travel at one nozzle temperature is more heat."""
    seen = strips()
    known = LapRegressor().fit(
        [[o.speed_m_per_min, o.nozzle_c, o.sheet_c] for o in seen],
        [tidy.median_mm(o) for o in seen],
        bubbling=["none"] * len(seen),
        bond=["good"] * len(seen),
    )
    slower = [[v, 500.0, 20.0] for v in (2.4, 2.0, 1.6, 1.2, 0.8)]
    assert (np.diff(known.predict_proba(slower, "bubbling")[:, 1]) >= 0).all()
    assert (np.diff(known.predict_proba(slower, "cold")[:, 1]) <= 0).all()
    assert known.predict_proba(slower, "good").sum(axis=1) == pytest.approx(1.0)


def test_it_clones_searches_and_stands_in_a_pipeline() -> None:
    """What scikit-learn's tools need of an estimator."""
    seen = strips()
    x = np.array([[o.speed_m_per_min, o.nozzle_c, o.sheet_c] for o in seen])
    y = np.array([tidy.median_mm(o) for o in seen])
    days = [o.day for o in seen]
    piped = make_pipeline(FunctionTransformer(), clone(LapRegressor(seed=3)))
    told = cross_val_predict(piped, x, y, groups=days, cv=GroupKFold(4))
    assert np.corrcoef(told, y)[0, 1] > 0.8
    found = GridSearchCV(LapRegressor(), {"seed": [0, 1]}, cv=2).fit(x, y)
    assert found.best_params_["seed"] in (0, 1)


@pytest.mark.parametrize(
    ("x", "reason"),
    [
        ([[1.7, 20.0]], "nozzle_c must lie between"),
        ([[-1.7, 500.0]], "speed_m_per_min must lie between"),
        ([[1.7]], "X needs 2 to 9 columns"),
    ],
)
def test_a_setting_that_cannot_be_is_refused(x: list[list[float]], reason: str) -> None:
    """With what it must be."""
    with pytest.raises(ValueError, match=reason):
        LapRegressor().fit(x, [6.35])


def failed(estimator: Any) -> dict[str, str]:
    """Checks of scikit-learn that fail, with what was said."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        results = check_estimator(estimator, on_fail=None, on_skip=None)
    assert len(results) > 45
    return {r["check_name"]: str(r["exception"]) for r in results if r["status"] == "failed"}


def test_scikit_learns_checks_fail_only_where_their_numbers_are_no_settings() -> None:
    """The estimator as it is: every failing check was refused its X."""
    refusals = ("must lie between", "X needs 2 to 9 columns", "negative input", "NaN and inf")
    assert [
        n for n, said in failed(LapRegressor()).items() if not any(r in said for r in refusals)
    ] == []


def test_scikit_learns_checks_hold_once_their_numbers_are_settings() -> None:
    """Pickling, idempotence, invariance to order and subsets, refusals and the rest."""
    assert set(failed(AnyNumbers())) == set(EXPECTED)


def test_days_are_never_on_both_sides_and_the_model_beats_the_half_step_rule() -> None:
    """On invented strips that follow the physics the model must not lose to no model."""
    rows = {j.method: j for j in by_day(strips(5), Window(3.175, 6.35, 9.525))}
    assert {j.strips for j in rows.values()} == {25}
    assert rows["this model"].off_log < rows["half-step rule"].off_log
    assert rows["half-step rule"].covered is None


def test_two_days_are_too_few_to_judge_by() -> None:
    """Nothing is claimed of them."""
    assert by_day(strips(2), Window(3.175, 6.35, 9.525)) == ()
