"""How one file is to be read, found once for all its rows.

Invariant: what a comma or the order of a date means is settled for the whole file,
never cell by cell; a file without a column that every strip needs is refused once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from weldcal.errors import FileTrouble
from weldcal.intake import cells, dates
from weldcal.intake.headers import KNOWN, KnownColumn, columns, refuse_slips, spelled_names
from weldcal.intake.table import TableRead
from weldcal.records.fields import FIELDS
from weldcal.words import _

NEEDED = ("date", "nozzle", "speed")
OBSERVED = ("reading", "bubbling", "bond", "outcome")  # a strip needs one of them
_DEFAULTED = ("machine", "sheet", "by")


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """What a file leaves unsaid.

    Attributes:
        units: us or si, what a bare number means under a header without a unit.
        now: the present, in the job's zone.
        by, machine, sheet: for rows that name none; None where a row must.
        lap: for rows that name none.
        day_first: 03/06 is 3 June, as it is in an SI job at any rate.
        dial_units: `same_name` of a machine -> ft/min, m/min or mark, as its dial shows.
    """

    units: str
    now: datetime
    by: str | None = None
    machine: str | None = None
    sheet: str | None = None
    lap: str = "selvage"
    day_first: bool = False
    dial_units: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FileLayout:
    """How one file is to be read.

    Attributes:
        file: its name, for the strips' source.
        width: how many columns have a place under the header.
        by_field: key of `headers.KNOWN` -> its columns, in the file's order.
        unknown: (place, header) of the columns not known.
        order: which of day and month comes first.
        comma: what a comma between two digits is.
        defaults: what the file leaves unsaid.
    """

    file: str
    width: int
    by_field: dict[str, tuple[KnownColumn, ...]]
    unknown: tuple[tuple[int, str], ...]
    order: dates.Order
    comma: cells.Comma
    defaults: Defaults


def layout_of(file: str, table: TableRead, defaults: Defaults) -> FileLayout:
    """Find how a file is to be read.

    Raises:
        FileTrouble: it lacks a column every strip needs, or a column cannot be understood.
    """
    named = columns(file, table.header)
    places = {column.place for column in named}
    headers = [h for place, h in enumerate(table.header) if h and place not in places]
    refuse_slips(file, headers, spelled_names())
    by_field: dict[str, tuple[KnownColumn, ...]] = {}
    for column in named:
        by_field[column.field] = (*by_field.get(column.field, ()), column)
    _check_columns(file, by_field, defaults)
    unknown = tuple(
        (place, header or _("column {n}", n=place + 1))
        for place, header in enumerate(table.header)
        if place not in places and (header or place in table.filled)
    )
    numbers = [c for c in named if KNOWN[c.field].reads in FIELDS and c.field != "reading"]
    comma = cells.comma_of(
        _cells_of(table, numbers), table.delimiter, len(by_field.get("reading", ())) > 1
    )
    (day,) = by_field["date"]
    usual = defaults.day_first or defaults.units == "si"
    day_first = usual if day.day_first is None else day.day_first
    order = dates.order_of(_cells_of(table, (day,)), day_first)
    width = len(table.header)
    return FileLayout(Path(file).name, width, by_field, unknown, order, comma, defaults)


def _check_columns(
    file: str, present: dict[str, tuple[KnownColumn, ...]], defaults: Defaults
) -> None:
    missing = [f for f in NEEDED if f not in present]
    missing += [f for f in _DEFAULTED if f not in present and getattr(defaults, f) is None]
    wanted = [f'"{KNOWN[f].example}"' for f in missing]
    if not any(f in present for f in OBSERVED):
        wanted.append(
            _("one of {names}", names=", ".join(f'"{KNOWN[f].example}"' for f in OBSERVED))
        )
    if wanted:
        options = [f"--{f}" for f in missing if f in _DEFAULTED]
        why = _(
            "it has no column for what every strip needs; add {wanted}", wanted=", ".join(wanted)
        )
        if options:
            why += _(" (or give {options})", options=", ".join(options))
        raise FileTrouble(file=file, why=why)


def _cells_of(table: TableRead, wanted: Iterable[KnownColumn]) -> Iterator[str]:
    places = [column.place for column in wanted]
    return (row[place] for _n, row in table.rows for place in places if place < len(row))
