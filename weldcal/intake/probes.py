"""A typed-up probe sheet to walks and what they found.

Invariant: every row that holds anything is a walk, a further finding of the walk
above it (its seam's cell empty), or has at least one refusal. Nothing is guessed:
a time that was not given is said so in the walk's note.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace

from weldcal.errors import FileTrouble, NotAChoice, WeldcalError
from weldcal.intake import cells, dates
from weldcal.intake.headers import refuse_slips
from weldcal.intake.line import spelled
from weldcal.intake.probe_line import KINDS
from weldcal.intake.row import Refusal
from weldcal.intake.table import Cells, read_table, shown
from weldcal.long_work import Beat, counted, silent
from weldcal.quantities import Quantity, unit_named
from weldcal.records.common import Seen
from weldcal.records.fields import (
    choose,
    folded,
    past,
    plain_name,
    read_place,
    says_end,
    usual_unit,
)
from weldcal.records.seam import Finding, Walk, found_how
from weldcal.records.times import stamp
from weldcal.words import _

T = TypeVar("T")
# Columns of the sheet, in its order, and what else crews write over them (common practice, no source).
COLUMNS = (
    "date",
    "seam",
    "from",
    "to",
    "start",
    "end",
    "finding",
    "at",
    "length",
    "depth",
    "note",
    "by",
)
NEEDED = ("seam", "to")
_SPELLED = spelled(
    {
        "date": ("day", "fecha"),
        "seam": ("lap", "costura", "solape"),
        "from": ("desde", "de"),
        "to": ("hasta", "a"),
        "start": ("began", "start time", "inicio"),
        "end": ("ended", "end time", "fin"),
        "finding": ("found", "kind", "defect", "hallazgo"),
        "at": ("place", "en"),
        "length": ("long", "largo"),
        "depth": ("deep", "profundidad"),
        "note": ("notes", "remarks", "nota", "notas"),
        "by": ("inspector", "probed by", "who", "quien", "por"),
    }
)
_READS = {
    "from": "distance",
    "to": "distance",
    "at": "distance",
    "length": "patch",
    "depth": "depth",
}
_NOON = 12


@dataclass(frozen=True, slots=True)
class Column:
    """A column that is known: where it stands, its header, and the unit that names."""

    place: int
    header: str
    unit: str | None = None


@dataclass(slots=True)
class WalkRow:
    """A walk of the sheet, without a name, and what was found on it."""

    row: int
    walk: Walk
    found: list[Finding] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a sheet came to: its walks, every bad cell, headers not known, how many rows hold anything."""

    walks: tuple[WalkRow, ...]
    refused: tuple[Refusal, ...]
    ignored: tuple[str, ...]
    rows: int


def read_probes(
    path: Path, units: str, now: datetime, by: str | None, day_first: bool, beat: Beat = silent
) -> Loaded:
    """Read a probe sheet saved as CSV.

    Args:
        path: the file.
        units: the job's, what a bare number means under a header without a unit.
        now: the present, in the job's zone: the date of rows that name none.
        by: for rows that name nobody.
        day_first: 03/06 is 3 June.

    Raises:
        FileTrouble: the file as a whole cannot be read, or lacks a column every row needs.
    """
    file = shown(path)
    wanted = ", ".join(f'"{name}"' for name in COLUMNS)
    table = read_table(path, _known, _("Its columns are {wanted}", wanted=wanted))
    columns, unknown = _columns(file, table.header)
    refuse_slips(file, [header for _place, header in unknown], _SPELLED)
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        raise FileTrouble(
            file=file,
            why=_(
                "it has no column for what every walk needs; add {wanted}",
                wanted=", ".join(f'"{m}"' for m in missing),
            ),
        )
    if not table.rows:
        raise FileTrouble(file=file, why=_("there is nothing below its column names; add a row"))
    at = columns.get("date")
    order = dates.order_of(
        (r[at.place] for _n, r in table.rows if at and at.place < len(r)), day_first
    )
    sheet = _Sheet(columns, unknown, len(table.header), units, now, by, order)
    for number, row in counted(table.rows, _("rows"), len(table.rows), beat):
        _Row(sheet, number, row).read()
    return Loaded(
        tuple(sheet.walks),
        tuple(sheet.refused),
        tuple(header for _place, header in unknown),
        len(table.rows),
    )


def _known(header: Sequence[str]) -> int:
    return len({_field(cell)[0] for cell in header} - {None})


def _field(header: str) -> tuple[str | None, str]:
    """The field a header names, and the text where its unit stands."""
    plain = folded(header)
    bracketed = re.fullmatch(r"([^(\[]+)[(\[]([^)\]]*)[)\]]", plain)
    base = (bracketed[1] if bracketed else plain).strip(" .:#").replace("_", " ")
    return _SPELLED.get(base), bracketed[2].strip() if bracketed else ""


def _columns(file: str, header: Sequence[str]) -> tuple[dict[str, Column], list[tuple[int, str]]]:
    found: dict[str, Column] = {}
    unknown = []
    for place, cell in enumerate(header):
        name, unit_text = _field(cell)
        if name is None:
            unknown += [(place, cell)] if cell else []
            continue
        if name in found:
            raise FileTrouble(
                file=file,
                why=_(
                    'columns "{one}" and "{other}" both hold the {name}; rename or remove one of them',
                    one=found[name].header,
                    other=cell,
                    name=name,
                ),
            )
        unit = unit_named(unit_text, "length") if unit_text and name in _READS else None
        if unit_text and name in _READS and unit is None:
            raise FileTrouble(
                file=file,
                why=_(
                    'column "{column}": {unit!r} is no unit of length; name it like "{example}"',
                    column=cell,
                    unit=unit_text,
                    example=f"{name} (ft)",
                ),
            )
        found[name] = Column(place, cell, unit)
    return found, unknown


@dataclass(slots=True)
class _Sheet:
    """How the sheet is to be read, and what it has come to so far."""

    columns: dict[str, Column]
    unknown: list[tuple[int, str]]
    width: int
    units: str
    now: datetime
    by: str | None
    order: dates.Order
    walks: list[WalkRow] = field(default_factory=list)
    refused: list[Refusal] = field(default_factory=list)
    day: date | None = None
    broken: bool = False  # the walk above was refused, so what belongs to it cannot be taken


class _Row:
    def __init__(self, sheet: _Sheet, number: int, row: Cells) -> None:
        self._sheet = sheet
        self._number = number
        self._row = row
        self._bad = len(sheet.refused)

    def read(self) -> None:
        extra = [cell for cell in self._row[self._sheet.width :] if cell]
        if extra:
            self._refuse(
                _("beyond the last column"),
                extra[0],
                _(
                    "this row has more cells than there are column names; put a cell that holds commas in quotation marks"
                ),
            )
            return
        if self._text("seam"):
            walk = self._walk()
            self._sheet.broken = walk is None
            if walk is not None:
                self._sheet.walks.append(WalkRow(self._number, walk))
                self._finding(walk, again=True)
        elif not self._sheet.walks and not self._sheet.broken:
            self._missing("seam", "A12")
        elif self._sheet.broken:
            self._refuse(
                self._header("seam"), "", _("the walk above it was refused; mend that row first")
            )
        else:
            self._finding(self._sheet.walks[-1].walk, again=False)

    def _walk(self) -> Walk | None:
        seam = self._take("seam", lambda text: plain_name(_("seam"), text))
        start, end = self._number_of("from"), self._number_of("to")
        if not self._text("to"):
            self._missing("to", "33")
        began, ended, at = self._times()
        by = self._take("by", lambda text: plain_name(_("person"), text)) or self._sheet.by
        if by is None:
            self._missing("by", _("--by NAME for the whole sheet"))
        self._check_finding()
        if len(self._sheet.refused) > self._bad or not (seam and end and by):
            return None
        note = self._note([] if began or ended else ["time not given"])
        zero = Quantity(text="0", number=end.number * 0, unit=end.unit)
        return Walk(
            name="",
            seam=seam,
            seen=Seen(at=stamp(at), by=by),
            start=start or zero,
            end=end,
            started=stamp(began) if began else None,
            ended=stamp(ended) if ended else None,
            note=note,
        )

    def _times(self) -> tuple[datetime | None, datetime | None, datetime]:
        """When the walk began and ended, as far as given, and when it was seen: noon where neither was."""
        day = self._take("date", lambda text: dates.read_date(text, self._sheet.order))
        day = day or self._sheet.day or self._sheet.now.date()
        self._sheet.day = day
        midnight = datetime(day.year, day.month, day.day, tzinfo=self._sheet.now.tzinfo)
        began = self._take("start", lambda text: dates.read_clock(text, midnight))
        ended = self._take("end", lambda text: dates.read_clock(text, midnight))
        return began, ended, ended or began or midnight.replace(hour=_NOON)

    def _check_finding(self) -> None:
        """Refuse a bad finding with its walk: half a row is not taken."""
        self._found("", Seen(at=stamp(self._sheet.now), by="-"))

    def _finding(self, walk: Walk, *, again: bool) -> None:
        found = self._found(walk.seam, walk.seen)
        if found is not None:
            found = found if again else replace(found, note=self._note([]))
            self._sheet.walks[-1].found.append(found)
        elif not again and len(self._sheet.refused) == self._bad:
            self._missing("finding", "void")

    def _found(self, seam: str, seen: Seen) -> Finding | None:
        kind = self._take("finding", _kind)
        at, length, depth = (self._number_of(name) for name in ("at", "length", "depth"))
        if kind is None and (at or length or depth) and not self._text("finding"):
            self._missing("finding", "void")
        if kind is not None and not self._text("at"):
            self._missing("at", "14.5")
        if kind is None or at is None or len(self._sheet.refused) > self._bad:
            return None
        return Finding(
            name="",
            seam=seam,
            seen=seen,
            kind=kind,
            start=at,
            end=past(at, length) if length else at,
            how=found_how(kind),
            depth=depth,
        )

    def _note(self, told: list[str]) -> str | None:
        """The row's note, what stands under headers not known, and what had to be told."""
        others = [
            f"{header}: {self._row[place]}"
            for place, header in self._sheet.unknown
            if place < len(self._row) and self._row[place]
        ]
        return "; ".join(t for t in (self._text("note"), *told, *others) if t) or None

    # -- cells -----------------------------------------------------------------------------

    def _text(self, name: str) -> str:
        column = self._sheet.columns.get(name)
        if column is None or column.place >= len(self._row):
            return ""
        text = self._row[column.place]
        return "" if cells.is_blank(text, number=name in _READS) else text

    def _number_of(self, name: str) -> Quantity | None:
        column = self._sheet.columns.get(name)
        unit = column.unit if column else None
        if _READS[name] == "distance" and says_end(self._text(name)):
            return read_place(self._text(name), self._sheet.units)
        return self._take(
            name,
            lambda text: cells.quantity(_READS[name], text, self._sheet.units, unit, "unclear"),
        )

    def _take(self, name: str, read: Callable[[str], T]) -> T | None:
        text = self._text(name)
        if not text:
            return None
        try:
            cells.refuse_unusable(text)
            return read(text)
        except WeldcalError as error:
            if not any(
                r.row == self._number and r.column == self._header(name)
                for r in self._sheet.refused
            ):
                self._refuse(self._header(name), text, str(error))
            return None

    def _header(self, name: str) -> str:
        column = self._sheet.columns.get(name)
        return column.header if column else name

    def _missing(self, name: str, example: str) -> None:
        if not any(
            r.row == self._number and r.column == self._header(name) for r in self._sheet.refused
        ):
            self._refuse(
                self._header(name), "", _("it is missing; type it like {example}", example=example)
            )

    def _refuse(self, header: str, value: str, why: str) -> None:
        self._sheet.refused.append(Refusal(self._number, header, value, why))


def _kind(text: str) -> str:
    kind = choose("flaw", text)
    if kind not in KINDS:
        raise NotAChoice(name=_("finding"), text=text, allowed=", ".join(KINDS))
    return kind


def headers(units: str) -> list[str]:
    """The sheet's column names, each with the unit meant in a job of these units."""
    return [
        f"{name} ({usual_unit(_READS[name], units)})" if name in _READS else name
        for name in COLUMNS
    ]
