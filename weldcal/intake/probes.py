"""A typed-up probe sheet to walks and what they found.

Invariant: every row that holds anything is a walk, a further finding of the walk
above it (its seam's cell empty), or has at least one refusal. Nothing is guessed:
a time that was not given is said so in the walk's note.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace

from weldcal.errors import FileTrouble, NotAChoice, WeldcalError
from weldcal.intake import cells, dates, probe_columns
from weldcal.intake.headers import refuse_slips
from weldcal.intake.probe_line import KINDS
from weldcal.intake.row import AnyRow, Refusal
from weldcal.intake.spool import Cells, Spool
from weldcal.intake.table import read_table, shown
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.quantities import Quantity
from weldcal.records.common import Seen
from weldcal.records.fields import choose, past, plain_name, read_place, says_end
from weldcal.records.seam import Finding, Walk, found_how
from weldcal.records.times import stamp
from weldcal.words import _

T = TypeVar("T")
_NOON = 12


@dataclass(slots=True)
class ReadWalk:
    """A walk of the sheet, without a name, and what was found on it."""

    row: int
    walk: Walk
    found: list[Finding] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class ProbeFile:
    """A file that can be read as a probe sheet.

    Attributes:
        layout: how its rows are to be read.
        rows: those that hold anything.
    """

    layout: ProbeLayout
    rows: Spool

    @property
    def ignored(self) -> tuple[str, ...]:
        """Headers not known; what their cells hold is in the walks' notes."""
        return tuple(header for _place, header in self.layout.unknown)

    def read(self, on_progress: Progress = no_progress) -> Iterator[ReadWalk | Refusal]:
        """The walks in the sheet's order, each with what was found on it, and every bad cell."""
        above = _Above()
        for number, cells_ in with_progress(self.rows, _("rows"), len(self.rows), on_progress):
            row = _Row(self.layout, above, number, cells_)
            ended = row.read()
            yield from row.refused
            if ended is not None:
                yield ended
        if above.walk is not None:
            yield above.walk


def read_probes(
    path: Path, units: str, now: datetime, by: str | None, day_first: bool
) -> ProbeFile:
    """Find how a probe sheet, typed up and saved, is to be read.

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
    wanted = ", ".join(f'"{name}"' for name in probe_columns.COLUMNS)
    table = read_table(
        path, probe_columns.how_many_known, _("Its columns are {wanted}", wanted=wanted)
    )
    columns, unknown = probe_columns.columns_of(file, table.header)
    refuse_slips(file, [header for _place, header in unknown], probe_columns.SPELLED)
    missing = [name for name in probe_columns.NEEDED if name not in columns]
    if missing:
        raise FileTrouble(
            file=file,
            why=_(
                "it has no column for what every walk needs; add {wanted}",
                wanted=", ".join(f'"{m}"' for m in missing),
            ),
        )
    if not len(table.rows):
        raise FileTrouble(file=file, why=_("there is nothing below its column names; add a row"))
    at = columns.get("date")
    order = dates.order_of(
        (r[at.place] for _n, r in table.rows if at and at.place < len(r)), day_first
    )
    return ProbeFile(
        ProbeLayout(columns, unknown, len(table.header), units, now, by, order), table.rows
    )


@dataclass(frozen=True, slots=True)
class ProbeLayout:
    """How a sheet is to be read."""

    columns: dict[str, probe_columns.ProbeColumn]
    unknown: list[tuple[int, str]]
    width: int
    units: str
    now: datetime
    by: str | None
    order: dates.Order


@dataclass(slots=True)
class _Above:
    """What the rows read so far leave to the next one."""

    walk: ReadWalk | None = None  # the last, which further rows may belong to
    day: date | None = None
    broken: bool = False  # the walk above was refused, so what belongs to it cannot be taken


class _Row(AnyRow):
    """One row of a probe sheet."""

    def __init__(self, layout: ProbeLayout, above: _Above, number: int, row: Cells) -> None:
        super().__init__(layout.width, layout.unknown, number, row)
        self._layout = layout
        self._above = above

    def read(self) -> ReadWalk | None:
        """Take the row in; return the walk above, where nothing can belong to it any more."""
        if self._slipped():
            return None
        if self._text("seam"):
            return self._next_walk()
        if self._above.broken:
            self._refuse(
                self._header("seam"), "", _("the walk above it was refused; mend that row first")
            )
        elif self._above.walk is None:
            self._missing("seam", "A12")
        else:
            self._finding(self._above.walk, again=False)
        return None

    def _next_walk(self) -> ReadWalk | None:
        ended, walk = self._above.walk, self._walk()
        self._above.broken = walk is None
        self._above.walk = ReadWalk(self._number, walk) if walk is not None else None
        if self._above.walk is not None:
            self._finding(self._above.walk, again=True)
        return ended

    def _walk(self) -> Walk | None:
        seam = self._take("seam", lambda text: plain_name(_("seam"), text))
        start, end = self._number_of("from"), self._number_of("to")
        if not self._text("to"):
            self._missing("to", "33")
        began, ended, at = self._times()
        by = self._take("by", lambda text: plain_name(_("person"), text)) or self._layout.by
        if by is None:
            self._missing("by", _("--by NAME for the whole sheet"))
        self._check_finding()
        if self.refused or not (seam and end and by):
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
        day = self._take("date", lambda text: dates.read_date(text, self._layout.order))
        day = day or self._above.day or self._layout.now.date()
        self._above.day = day
        midnight = datetime(day.year, day.month, day.day, tzinfo=self._layout.now.tzinfo)
        began = self._take("start", lambda text: dates.read_clock(text, midnight))
        ended = self._take("end", lambda text: dates.read_clock(text, midnight))
        return began, ended, ended or began or midnight.replace(hour=_NOON)

    def _check_finding(self) -> None:
        """Refuse a bad finding with its walk: half a row is not taken."""
        self._found("", Seen(at=stamp(self._layout.now), by="-"))

    def _finding(self, above: ReadWalk, *, again: bool) -> None:
        finding = self._found(above.walk.seam, above.walk.seen)
        if finding is not None:
            above.found.append(finding if again else replace(finding, note=self._note([])))
        elif not again and not self.refused:
            self._missing("finding", "void")

    def _found(self, seam: str, seen: Seen) -> Finding | None:
        kind = self._take("finding", _kind)
        at, length, depth = (self._number_of(name) for name in ("at", "length", "depth"))
        if kind is None and (at or length or depth) and not self._text("finding"):
            self._missing("finding", "void")
        if kind is not None and not self._text("at"):
            self._missing("at", "14.5")
        if kind is None or at is None or self.refused:
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

    def _note(self, remarks: list[str]) -> str | None:
        """The row's note, what stands under headers not known, and the remarks."""
        return "; ".join(t for t in (self._text("note"), *remarks, *self._others()) if t) or None

    # -- cells -----------------------------------------------------------------------------

    def _text(self, name: str) -> str:
        column = self._layout.columns.get(name)
        if column is None:
            return ""
        text = self._at(column.place)
        return "" if cells.is_blank(text, number=name in probe_columns.READS) else text

    def _number_of(self, name: str) -> Quantity | None:
        column = self._layout.columns.get(name)
        unit = column.unit if column else None
        if probe_columns.READS[name] == "distance" and says_end(self._text(name)):
            return read_place(self._text(name), self._layout.units)
        return self._take(
            name,
            lambda text: cells.quantity(
                probe_columns.READS[name], text, self._layout.units, unit, "unclear"
            ),
        )

    def _take(self, name: str, read: Callable[[str], T]) -> T | None:
        text = self._text(name)
        if not text:
            return None
        try:
            cells.refuse_unusable(text)
            return read(text)
        except WeldcalError as error:
            if not any(r.column == self._header(name) for r in self.refused):
                self._refuse(self._header(name), text, str(error))
            return None

    def _header(self, name: str) -> str:
        column = self._layout.columns.get(name)
        return column.header if column else name

    def _missing(self, name: str, example: str) -> None:
        if not any(r.column == self._header(name) for r in self.refused):
            self._refuse(
                self._header(name), "", _("it is missing; type it like {example}", example=example)
            )


def _kind(text: str) -> str:
    kind = choose("flaw", text)
    if kind not in KINDS:
        raise NotAChoice(name=_("finding"), text=text, allowed=", ".join(KINDS))
    return kind
