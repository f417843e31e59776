"""All strips of a fit as arrays: columns, rows of evidence, and who shares which offset.

Invariant: every row of evidence (a width, a bubbling, a bond) belongs to one
strip, every strip to one cell (a machine on a day), every cell to one day, and
rows are sorted by cell, cells by day, so sums over them are slices.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from weldcal.calibration import priors, staleness
from weldcal.calibration.features import Array, Features, Levels, drift_loading, features
from weldcal.calibration.observation import Observation
from weldcal.calibration.readings import widths

Index = NDArray[np.intp]

WIDTH, NO_BLEED, TRACE, HEAVY, BOND = range(5)


@dataclass(frozen=True, slots=True)
class StripArrays:
    """Evidence in arrays.

    Attributes:
        kept: position of each strip in the observations given.
        features: columns of the strips; `log_speed[n]`.
        cell: cell of each strip; `cell_day` day of each cell; `cell_face_c` the
            mean sheet temperature of its strips; `loading` how each strip answers to
            its cell's drift.
        cells: (day, machine) of each cell; `days` in order.
        row_strip, kind: per row, its strip and what it is (WIDTH, NO_BLEED:
            `value` is the log width or its bound, `var` its variance; TRACE,
            HEAVY, BOND: `value` is 0 or 1); `share`: how much the row counts, below 1
            where others of its day say the same.
        cell_start, day_start: where each cell's rows and each day's cells begin.
        reading_spread: scatter of ln width along a strip.
    """

    kept: Index
    features: Features
    log_speed: Array
    cell: Index
    cell_day: Index
    cell_face_c: Array
    loading: Array
    cells: tuple[tuple[str, str], ...]
    days: tuple[str, ...]
    row_strip: Index
    kind: Index
    value: Array
    var: Array
    share: Array
    cell_start: Index
    day_start: Index
    reading_spread: float

    @property
    def cell_count(self) -> int:
        """How many cells there are."""
        return len(self.cells)


def strips(observations: Sequence[Observation], levels: Levels, by_bleed_out: bool) -> StripArrays:
    """Arrays for the observations that say anything; the others are left out.

    Args:
        observations: strips and checks, in any order.
        levels: sheets, machines and repairs with a column.
        by_bleed_out: widths count.

    Returns:
        the arrays, sorted by day and machine.
    """
    telling = [i for i, o in enumerate(observations) if _tells(o, by_bleed_out)]
    kept = sorted(telling, key=lambda i: (observations[i].day, observations[i].machine))
    seen = [observations[i] for i in kept]
    cells = tuple(dict.fromkeys((o.day, o.machine) for o in seen))
    days = tuple(dict.fromkeys(day for day, _ in cells))
    cell_at = {key: k for k, key in enumerate(cells)}
    day_at = {day: j for j, day in enumerate(days)}
    cell = np.array([cell_at[o.day, o.machine] for o in seen], dtype=np.intp)
    cell_day = np.array([day_at[day] for day, _ in cells], dtype=np.intp)
    made = _columns(seen, levels)
    row_strip, kind, value, var, spread = _rows(seen, by_bleed_out)
    row_cell = cell[row_strip]
    counts = np.bincount(cell, minlength=len(cells))
    cell_face = np.bincount(cell, weights=made.face_c, minlength=len(cells)) / counts
    return StripArrays(
        kept=np.array(kept, dtype=np.intp),
        features=made,
        log_speed=np.log([o.speed_m_per_min for o in seen]) if seen else np.zeros(0),
        cell=cell,
        cell_day=cell_day,
        cell_face_c=cell_face,
        loading=drift_loading(made, cell_face[cell]),
        cells=cells,
        days=days,
        row_strip=row_strip,
        kind=kind,
        value=value,
        var=var,
        share=_shares(kind, row_cell, len(cells)),
        cell_start=np.searchsorted(row_cell, np.arange(len(cells))),
        day_start=np.searchsorted(cell_day, np.arange(len(days))),
        reading_spread=spread,
    )


def _columns(seen: Sequence[Observation], levels: Levels) -> Features:
    """Columns of the strips; a reading carried over had aged."""
    then = [staleness.by_now(o) for o in seen]
    made = features(then, np.array([o.nozzle_c for o in seen]), levels, [o.damp for o in seen])
    old = np.array([staleness.spread(o) for o in seen], dtype=float)
    return replace(made, strip_var=made.strip_var + old**2)


def of_cells(data: StripArrays, first: int, last: int) -> StripArrays:
    """The strips of cells `first` to `last` (not included) alone.

    Args:
        data: all strips.
        first: position of the first cell.
        last: one past the last.

    Returns:
        the same arrays, shorter.
    """
    mine = np.flatnonzero((data.cell >= first) & (data.cell < last))
    row_cell = data.cell[data.row_strip]
    rows = np.flatnonzero((row_cell >= first) & (row_cell < last))
    day = int(data.cell_day[first])
    cell_day = data.cell_day[first:last] - day
    return StripArrays(
        kept=data.kept[mine],
        features=Features(*(getattr(data.features, f.name)[mine] for f in fields(Features))),
        log_speed=data.log_speed[mine],
        cell=data.cell[mine] - first,
        cell_day=cell_day,
        cell_face_c=data.cell_face_c[first:last],
        loading=data.loading[mine],
        cells=data.cells[first:last],
        days=data.days[day : day + int(cell_day[-1]) + 1],
        row_strip=np.searchsorted(mine, data.row_strip[rows]),
        kind=data.kind[rows],
        value=data.value[rows],
        var=data.var[rows],
        share=data.share[rows],
        cell_start=np.searchsorted(row_cell[rows], np.arange(first, last)),
        day_start=np.searchsorted(cell_day, np.arange(cell_day[-1] + 1)),
        reading_spread=data.reading_spread,
    )


def _shares(kind: Index, row_cell: Index, cells: int) -> Array:
    """Design effect (Kish 1965): n sightings of correlation r count as n/(1 + (n - 1)·r)."""
    bubbling = (kind == TRACE) | (kind == HEAVY)
    alike = np.bincount(row_cell[kind == TRACE], minlength=cells)[row_cell]
    shared = 1.0 / (1.0 + priors.SAME_DAY_BUBBLING * np.maximum(alike - 1, 0))
    return np.where(bubbling, shared, 1.0)


def levels_of(observations: Sequence[Observation]) -> Levels:
    """Sheets and machines in the order they were first seen, and their highest voltage.

    Args:
        observations: strips and checks, in any order.

    Returns:
        the levels.
    """
    volts: dict[str, float] = {}
    repairs = {(o.machine, n) for o in observations for n in range(1, o.repairs + 1)}
    for o in observations:
        if o.line_v is not None:
            volts[o.machine] = max(volts.get(o.machine, 0.0), o.line_v)
    return Levels(
        tuple(dict.fromkeys(o.sheet for o in observations)),
        tuple(dict.fromkeys(o.machine for o in observations)),
        volts,
        tuple(sorted(repairs)),
    )


def _tells(o: Observation, by_bleed_out: bool) -> bool:
    if by_bleed_out and o.readings_mm:
        return True
    return o.bond is not None or (o.bubbling is not None and not o.damp)


def _rows(
    seen: Sequence[Observation], by_bleed_out: bool
) -> tuple[Index, Index, Array, Array, float]:
    """Rows of evidence, sorted by strip (and so by cell)."""
    read = [i for i, o in enumerate(seen) if by_bleed_out and o.readings_mm]
    width = widths([seen[i].readings_mm for i in read], [seen[i].reading_step_mm for i in read])
    rows: list[tuple[int, int, float, float]] = [
        (i, NO_BLEED if none else WIDTH, value, var)
        for i, value, var, none in zip(
            read, width.log_mm.tolist(), width.var.tolist(), width.censored.tolist(), strict=True
        )
    ]
    for i, o in enumerate(seen):
        if o.bubbling is not None and not o.damp:
            rows.append((i, TRACE, float(o.bubbling != "none"), 0.0))
            if o.bubbling != "none":
                rows.append((i, HEAVY, float(o.bubbling == "heavy"), 0.0))
        if o.bond is not None:
            rows.append((i, BOND, float(o.bond == "good"), 0.0))
    table = np.array(rows, dtype=float).reshape(-1, 4)
    table = table[np.lexsort((table[:, 1], table[:, 0]))]  # by strip, then by kind
    return (
        table[:, 0].astype(np.intp),
        table[:, 1].astype(np.intp),
        table[:, 2],
        table[:, 3],
        width.spread,
    )
