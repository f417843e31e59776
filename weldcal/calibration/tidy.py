"""Strips as a tidy table: one row a strip, SI columns with the unit in the name.

Invariant: a value that nobody read is missing, never a stand-in. pandas is imported
only when a data frame is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from weldcal.calibration.observation import Observation, SpeedQuestion

if TYPE_CHECKING:
    import pandas as pd

TEXTS = ("day", "machine", "sheet", "lap")
NUMBERS = (
    "speed_m_per_min",
    "nozzle_c",
    "sheet_c",
    "ambient_c",
    "wind_m_per_s",
    "humidity_pct",
    "line_v",
    "rated_v",
    "hour",
)
COLUMNS = (*TEXTS, *NUMBERS)
NEEDED = ("speed_m_per_min", "nozzle_c")
# Where a column of text is not given: one of each.
_ONLY = {"day": "2000-01-01", "machine": "machine", "sheet": "sheet", "lap": "selvage"}


def median_mm(strip: Observation) -> float:
    """The strip's median reading, mm; NaN where it has none.

    Args:
        strip: a strip or check.

    Returns:
        mm.
    """
    ordered, n = sorted(strip.readings_mm), len(strip.readings_mm)
    return (ordered[n // 2] + ordered[(n - 1) // 2]) / 2 if n else math.nan


def frame(strips: Sequence[Observation]) -> pd.DataFrame:
    """The strips as a data frame, one row each: `COLUMNS`, then what was seen.

    Args:
        strips: in the order wanted.

    Returns:
        Columns `COLUMNS`, `damp`, `on_seam`, `bleed_out_mm` (median reading),
        `readings_mm` (tuples), `bubbling`, `bond`, `id`. Group by `day` to validate.

    Raises:
        ImportError: pandas is not installed.
    """
    import pandas as pd

    rows = [
        {
            **{name: getattr(strip, name) for name in COLUMNS},
            "damp": strip.damp,
            "on_seam": strip.on_seam,
            "bleed_out_mm": median_mm(strip),
            "readings_mm": strip.readings_mm,
            "bubbling": strip.bubbling,
            "bond": strip.bond,
            "id": strip.id,
        }
        for strip in strips
    ]
    return pd.DataFrame(rows).astype(dict.fromkeys(NUMBERS, float) if rows else {})


def observation(row: Mapping[str, Any]) -> Observation:
    """One row as the engine takes it.

    Args:
        row: some of `COLUMNS`; a column left out, or NaN, was not read.

    Returns:
        the strip.

    Raises:
        ValueError: no speed or nozzle temperature, or one that cannot be.
    """
    number = {name: _number(row.get(name)) for name in NUMBERS}
    speed, nozzle = number["speed_m_per_min"], number["nozzle_c"]
    if speed is None or not 0.0 < speed < 100.0:
        raise ValueError(f"speed_m_per_min must lie between 0 and 100, not {speed}")
    if nozzle is None or not 100.0 <= nozzle <= 900.0:
        raise ValueError(f"nozzle_c must lie between 100 and 900, not {nozzle}")
    text = {name: _text(row.get(name)) or _ONLY[name] for name in TEXTS}
    return Observation(
        day=text["day"],
        machine=text["machine"],
        sheet=text["sheet"],
        lap="granules" if text["lap"] == "granules" else "selvage",
        nozzle_c=nozzle,
        speed_m_per_min=speed,
        ambient_c=number["ambient_c"],
        sheet_c=number["sheet_c"],
        wind_m_per_s=number["wind_m_per_s"],
        humidity_pct=number["humidity_pct"],
        line_v=number["line_v"],
        rated_v=number["rated_v"],
        hour=number["hour"],
        damp=row.get("damp") == 1,
    )


def question(strip: Observation) -> SpeedQuestion:
    """What to ask the engine in order to forecast a strip: its conditions, not its result.

    Args:
        strip: a strip or check.

    Returns:
        the question.
    """
    return SpeedQuestion(
        day=strip.day,
        machine=strip.machine,
        sheet=strip.sheet,
        lap=strip.lap,
        nozzle_c=strip.nozzle_c,
        ambient_c=strip.ambient_c,
        sheet_c=strip.sheet_c,
        wind_m_per_s=strip.wind_m_per_s,
        humidity_pct=strip.humidity_pct,
        line_v=strip.line_v,
        rated_v=strip.rated_v,
        hour=strip.hour,
        hour_sheet_read=strip.hour_sheet_read,
        beside=strip.beside,
        sheet_read_c=strip.sheet_read_c,
        site=strip.site,
        sky=strip.sky,
    )


def _text(value: object) -> str:
    return "" if value is None or value != value else str(value)  # NaN is not itself


def _number(value: object) -> float | None:
    if value is None:
        return None
    number = float(value)  # type: ignore[arg-type]
    return None if math.isnan(number) else number
