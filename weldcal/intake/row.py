"""One row of a crew's file, cell by cell.

Invariant: every cell is read, so that every bad one is reported; a row is a strip only
where none was bad. Nothing is made up: a time that was not given is said so in the
note, and a date is taken from the row above only where its own cell is empty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from weldcal.errors import WeldcalError
from weldcal.intake import cells, dates
from weldcal.intake.headers import KNOWN, KnownColumn, label
from weldcal.intake.layout import NEEDED, OBSERVED, FileLayout
from weldcal.intake.spool import Cells
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.fields import choose, plain_name, same_name
from weldcal.records.strip import Strip
from weldcal.records.times import stamp
from weldcal.words import _

T = TypeVar("T")

_NOON = 12  # stands in the time of a strip whose time was not given


@dataclass(frozen=True, slots=True)
class Refusal:
    """A cell that cannot be taken.

    Attributes:
        row: number in the spreadsheet.
        column: header as in the file.
        value: the cell.
        why: one plain sentence, with what would be accepted.
    """

    row: int
    column: str
    value: str
    why: str

    def sentence(self) -> str:
        """`row 7, "nozzle (F)": '9320': nozzle temperature: 9320 F cannot be; ...`"""
        value = self.value if len(self.value) <= 60 else self.value[:59] + "…"
        return _(
            'row {row}, "{column}": {value}: {why}',
            row=self.row,
            column=self.column,
            value=repr(value) if value else _("empty"),
            why=self.why,
        )


class AnyRow:
    """One row being read; `refused` grows with every cell that cannot be taken."""

    def __init__(
        self, width: int, unknown: Iterable[tuple[int, str]], number: int, row: Cells
    ) -> None:
        """Take a row.

        Args:
            width: how many column names there are.
            unknown: (column, header) of those not known.
            number: in the spreadsheet.
            row: its cells.
        """
        self._width = width
        self._unknown = unknown
        self._number = number
        self._row = row
        self.refused: list[Refusal] = []

    def _slipped(self) -> bool:
        """Refuse a row whose cells have slipped: what stands under which header is not known."""
        extra = [cell for cell in self._row[self._width :] if cell]
        if extra:
            self._refuse(
                _("beyond the last column"),
                extra[0],
                _(
                    "this row has more cells than there are column names; put a cell that holds commas in quotation marks"
                ),
            )
        return bool(extra)

    def _others(self) -> list[str]:
        """What stands under headers not known."""
        return [f"{header}: {cell}" for place, header in self._unknown if (cell := self._at(place))]

    def _at(self, place: int) -> str:
        return self._row[place] if place < len(self._row) else ""

    def _refuse(self, header: str, value: str, why: str) -> None:
        self.refused.append(Refusal(self._number, header, value, why))


class RowRead(AnyRow):
    """One row of a sheet of strips."""

    def __init__(
        self, layout: FileLayout, number: int, row: Cells, above: tuple[int, date] | None
    ) -> None:
        super().__init__(layout.width, layout.unknown, number, row)
        self._layout = layout
        self._defaults = layout.defaults
        self._above = above
        self._notes: list[str] = []
        self.dated: tuple[int, date] | None = None

    def strip(self) -> Strip | None:
        """The row's strip; None, or not to be kept, where `refused` is not empty."""
        if self._slipped():
            return None
        at, by, instrument = self._moment(), self._name("by"), self._text("instrument")
        setting, conditions = self._setting(), self._conditions()
        readings, bubbling, bond = self._observed()
        parted, bonded_width = self._word("parted"), self._number_of("bonded_width")
        smoke, exposed_mat = self._yes("smoke"), self._yes("exposed_mat")
        roll_lot = self._text("roll_lot")
        self.refused.sort(key=self._place)
        if self.refused or not (at and by and setting):
            return None
        return Strip(
            name="",
            seen=Seen(at=stamp(at), by=by, instrument=instrument),
            setting=setting,
            conditions=conditions,
            smoke=smoke,
            exposed_mat=exposed_mat,
            roll_lot=roll_lot,
            note=self._note(),
            source=f"{self._layout.file} row {self._number}",
            readings=readings,
            bubbling=bubbling,
            bond=bond,
            parted=parted,
            bonded_width=bonded_width,
        )

    # -- the parts of a strip ----------------------------------------------------------

    def _setting(self) -> Setting | None:
        machine, sheet = self._name("machine"), self._name("sheet")
        nozzle, speed = self._number_of("nozzle"), self._speed(machine)
        lap = self._word("lap") or self._defaults.lap
        true_speed, measured = self._number_of("true_speed"), self._number_of("nozzle_measured")
        air_flow, width = self._number_of("air_flow"), self._number_of("nozzle_width")
        roller_load = self._number_of("roller_load")
        if not (machine and sheet and nozzle and speed):
            return None
        return Setting(
            machine=machine,
            sheet=sheet,
            lap=lap,
            nozzle=nozzle,
            speed=speed,
            true_speed=true_speed,
            nozzle_measured=measured,
            air_flow=air_flow,
            nozzle_width=width,
            roller_load=roller_load,
        )

    def _conditions(self) -> Conditions:
        return Conditions(
            ambient=self._number_of("ambient"),
            sheet_temp=self._number_of("sheet_temp"),
            under_temp=self._number_of("under_temp"),
            humidity=self._number_of("humidity"),
            wind=self._number_of("wind"),
            line_voltage=self._number_of("line_voltage"),
            gust=self._number_of("gust"),
            roll_temp=self._number_of("roll_temp"),
            damp=self._yes("damp"),
        )

    def _observed(self) -> tuple[tuple[Quantity, ...], str | None, str]:
        """Readings, bubbling and bond; a row on which nothing was seen is refused."""
        before = len(self.refused)
        readings = self._readings()
        bubbling, bond = self._word("bubbling"), self._word("bond")
        judged = self._judged()
        if judged:
            column, text = self._cell("outcome")
            if column and (bubbling or bond):  # what was seen stands before what it came to
                self._notes.append(f"{column.header}: {text}")
            bubbling, bond = bubbling or judged[0], bond or judged[1]
        seen = readings or bubbling or bond not in (None, "not tried")
        if not seen and len(self.refused) == before:
            shown = [column for f in OBSERVED for column in self._layout.by_field.get(f, ())]
            self._refuse(
                shown[0].header,
                "",
                _(
                    "nothing was seen on this strip; fill in bleed-out, bubbling, bond or outcome "
                    "(type none where no bleed-out was seen)"
                ),
            )
        return readings, bubbling, bond or "not tried"

    def _judged(self) -> tuple[str, str] | None:
        """The outcome's cell as (bubbling, bond)."""
        column, text = self._cell("outcome")
        if column is None or cells.is_blank(text, number=True):
            return None
        return self._take(column, text, lambda: cells.outcome(text))

    def _moment(self) -> datetime | None:
        """When the strip was seen: date and time of the row, on the job's clock."""
        column, text = self._cell("date")
        assert column is not None
        if not text:
            return self._dated_above(column)
        aware = self._with_offset(text)
        if aware:
            self.dated = (self._number, aware.date())
            own, clock = self._cell("time")
            if own and clock:
                self._notes.append(f"{own.header}: {clock}")
            return aware
        day_text, clock = dates.split(text)
        day = self._take(column, text, lambda: dates.read_date(day_text, self._layout.order))
        if day:
            self.dated = (self._number, day)
        # A bad date does not hide a bad time.
        found = self._timed(day or self._defaults.now.date(), column, clock)
        return found if day else None

    def _with_offset(self, text: str) -> datetime | None:
        try:
            found = datetime.fromisoformat(text)
            zoned = found.astimezone(self._defaults.now.tzinfo) if found.tzinfo else None
        except (ValueError, OverflowError):
            return None
        return zoned if zoned and 1970 <= zoned.year <= 2200 else None

    def _dated_above(self, column: KnownColumn) -> datetime | None:
        # Crews write a morning's date once, in a merged cell: the rows below are empty.
        if self._above is None:
            self._refuse(column.header, "", _("date is missing; type it like 2026-06-01"))
            return None
        self.dated = self._above
        self._notes.append(f"date from row {self._above[0]}")
        return self._timed(self._above[1], column, "")

    def _timed(self, day: date, column: KnownColumn, clock: str) -> datetime | None:
        midnight = datetime(day.year, day.month, day.day, tzinfo=self._defaults.now.tzinfo)
        from_date = (
            self._take(column, clock, lambda: dates.read_clock(clock, midnight)) if clock else None
        )
        if from_date == midnight:  # a bare date is exported as its midnight
            from_date = None
        own, text = self._cell("time")
        if own and not cells.is_blank(text, number=True):
            read = self._take(own, text, lambda: dates.read_clock(text, midnight))
            if read and from_date and read != from_date:
                self._refuse(
                    own.header,
                    text,
                    _(
                        "time: the date's cell says {clock}; leave one of the two times",
                        clock=clock,
                    ),
                )
            return read
        if from_date is None:
            self._notes.append("time not given")
        return from_date or midnight.replace(hour=_NOON)

    def _speed(self, machine: str | None) -> Quantity | None:
        column, text = self._cell("speed")
        assert column is not None
        unit = column.unit or self._defaults.dial_units.get(same_name(machine or ""))
        marks = text.lower().endswith(("mark", "marks"))
        if marks or (unit == "mark" and not any(sign.isalpha() for sign in text)):
            return self._number_of("speed", "mark", "mark")
        return self._number_of("speed", "speed", None if unit == "mark" else unit)

    def _readings(self) -> tuple[Quantity, ...]:
        found: tuple[Quantity, ...] = ()
        for column in self._layout.by_field.get("reading", ()):
            text = self._at(column.place)
            if cells.is_blank(text, number=True):
                continue
            found += self._take(column, text, self._reader(text, column.unit)) or ()
        return found

    def _reader(self, text: str, unit: str | None) -> Callable[[], tuple[Quantity, ...]]:
        return lambda: cells.readings(text, self._defaults.units, unit, self._layout.comma)

    def _note(self) -> str | None:
        notes = [text for c in self._layout.by_field.get("note", ()) if (text := self._at(c.place))]
        return "; ".join([*notes, *self._notes, *self._others()]) or None

    # -- single cells ------------------------------------------------------------------

    def _number_of(
        self, name: str, reads: str | None = None, unit: str | None = None
    ) -> Quantity | None:
        column, text = self._cell(name)
        if column is None:
            return None
        if cells.is_blank(text, number=True):
            if name in NEEDED:
                self._missing(column)
            return None
        key = reads or KNOWN[name].reads or name
        meant = unit if reads else column.unit
        units, comma = self._defaults.units, self._layout.comma
        return self._take(column, text, lambda: cells.quantity(key, text, units, meant, comma))

    def _word(self, name: str) -> str | None:
        column, text = self._cell(name)
        choice = KNOWN[name].reads
        # A dash under bubbling or bond is a word of its own (`records.alike.ALIKE`).
        if column is None or choice is None or not text:
            return None
        a_word = name in ("bubbling", "bond") and cells.is_blank(text, number=False)
        if cells.is_blank(text, number=True) and not a_word:
            return None
        return self._take(column, text, lambda: choose(choice, text))

    def _yes(self, name: str) -> bool | None:
        found = self._word(name)
        return None if found is None else found == "yes"

    def _name(self, name: str) -> str | None:
        """A name of the row, else the default; one of the two is needed."""
        column, text = self._cell(name)
        if column is None or cells.is_blank(text, number=False):
            default: str | None = getattr(self._defaults, name)
            if default is None and column is not None:
                self._missing(column)
            return default
        return self._take(column, text, lambda: plain_name(label(name), text))

    def _text(self, name: str) -> str | None:
        column, text = self._cell(name)
        if column is None or cells.is_blank(text, number=False):
            return None
        return self._take(column, text, lambda: plain_name(label(name), text))

    def _cell(self, name: str) -> tuple[KnownColumn | None, str]:
        found = self._layout.by_field.get(name)
        return (found[0], self._at(found[0].place)) if found else (None, "")

    def _take(self, column: KnownColumn, text: str, read: Callable[[], T]) -> T | None:
        """What `read` makes of a cell, or None and a refusal more."""
        try:
            cells.refuse_unusable(text)
            return read()
        except WeldcalError as error:
            self._refuse(column.header, text, str(error))
            return None

    def _missing(self, column: KnownColumn) -> None:
        example = {"nozzle": "932F", "speed": "5.5"}.get(column.field)
        why = (
            _(
                "{name} is missing; type it like {example}",
                name=label(column.field),
                example=example,
            )
            if example
            else _(
                "{name} is missing; fill it in, or give --{option}",
                name=label(column.field),
                option=column.field,
            )
        )
        self._refuse(column.header, "", why)

    def _place(self, refusal: Refusal) -> int:
        """Where a refused cell stands in its row."""
        columns = (c for found in self._layout.by_field.values() for c in found)
        return next((c.place for c in columns if c.header == refusal.column), self._layout.width)
