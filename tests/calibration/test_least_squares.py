"""The plain core against NIST StRD certified values and statsmodels."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from weldcal.calibration.model_report import TooFewRowsError, least_squares

NIST = Path(__file__).parents[2] / "shared" / "nist"

# Digits that double precision is asked for: estimates, deviations. The ill-conditioned sets
# (Filip, condition 1e15; the Wamplers, 1e7 in x^5) cannot give more to any double QR.
DIGITS = {
    "norris": (11, 11),
    "longley": (10, 10),
    "noint1": (13, 13),
    "noint2": (13, 13),
    "pontius": (10, 10),
    "filip": (6, 6),
    "wampler1": (8, None),
    "wampler2": (10, None),
    "wampler3": (8, 9),
    "wampler4": (6, 9),
    "wampler5": (4, 9),
}


def _rows(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8") as file:
        return list(csv.reader(line for line in file if not line.startswith("#")))[1:]


def _design(name: str, columns: int) -> tuple[np.ndarray, np.ndarray]:
    table = np.array(_rows(NIST / f"{name}.csv"), dtype=float)
    y, x = table[:, 0], table[:, 1:]
    if name.startswith("noint"):
        return x, y
    if x.shape[1] > 1:
        return np.column_stack([np.ones(len(y)), x]), y
    return np.column_stack([x[:, 0] ** k for k in range(columns)]), y


def _agrees(found: np.ndarray, certified: np.ndarray, digits: int) -> bool:
    return bool(np.all(np.abs(found / certified - 1.0) < 10.0**-digits))


@pytest.mark.parametrize("row", _rows(NIST / "certified.csv"), ids=lambda row: row[0])
def test_plain_least_squares_agrees_with_certified_values(row: list[str]) -> None:
    """NIST StRD linear sets, to the digits stated above."""
    name = row[0]
    estimates, deviations = (np.array(part.split(), dtype=float) for part in row[1:3])
    found = least_squares(*_design(name, len(estimates)))
    digits, spread_digits = DIGITS[name]
    assert _agrees(found.estimates, estimates, digits)
    if spread_digits is not None:
        assert _agrees(found.deviations, deviations, spread_digits)
        assert found.residual == pytest.approx(float(row[3]), rel=10.0**-spread_digits)


def test_prediction_interval_agrees_with_statsmodels() -> None:
    """The 90 % interval of a new row, Longley's data, against statsmodels' OLS."""
    sm = pytest.importorskip("statsmodels.api")
    x, y = _design("longley", 7)
    frame = sm.OLS(y, x).fit().get_prediction(x[:3]).summary_frame(alpha=0.10)
    found = least_squares(x, y)
    for i in range(3):
        middle, low, high = found.interval(x[i])
        assert middle == pytest.approx(frame["mean"].iloc[i], rel=1e-8)
        assert low == pytest.approx(frame["obs_ci_lower"].iloc[i], rel=1e-7)
        assert high == pytest.approx(frame["obs_ci_upper"].iloc[i], rel=1e-7)


def test_too_few_rows_are_refused() -> None:
    """Two rows cannot give two coefficients and a spread."""
    with pytest.raises(TooFewRowsError, match="2 rows for 2"):
        least_squares(np.eye(2), np.ones(2))
