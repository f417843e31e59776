"""Strips judged: their readings, what each falls short of, which fell short after they had passed.

Invariant: a strip is judged by the limits in force when it was welded, as its row stands now.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_SEEN
from weldcal.book.slips import off_dial
from weldcal.quality.doubt import BLEED, PEEL, FailedStrip
from weldcal.quality.goahead import CLEAN, Judged, Shortfall, shortfalls
from weldcal.records.plausible import DialRange
from weldcal.row_types.strips import ReadingRow, StripRow

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.slips import Slips
    from weldcal.views.rows import TriedStrip


_AT_ONCE = 1000  # rows whose readings are looked up one by one


# What a strip falls short of that a bleed check reads just as well on the lap welded.
_AT_THE_EDGE = frozenset(
    {"few_readings", "too_little", "too_much", "spread", "bubbling", "bubbling_not_looked"}
)


class _Sampled(TypedDict):
    """A sample of a strip, and the strip's id."""

    id: str
    name: str
    strip: str


class WithId(TypedDict):
    """A row of a strip or a bleed check."""

    id: str


class Verdicts(Service):
    """What strips fall short of."""

    _reader: JobReader
    _limits: Limits
    _slips: Slips

    def fell_short(self) -> set[str]:
        """Ids of strips that fell short after they may have passed."""
        return {strip.go_ahead for strip in self.fallen()}

    def fallen(self) -> list[FailedStrip]:
        """Strips that fell short after they may have passed, each with what shows it.

        Corrected since, pulled once more, or sampled with the sample parted at the lap.
        """
        changed = self._reader.of_job(
            StripRow,
            """AND (flags LIKE '%"pulled twice"%' """
            'OR id IN (SELECT "of" FROM amendments WHERE job = ?1))',
        )
        sampled = self._reader.part(
            _Sampled,
            "peels",
            f"AND strip IS NOT NULL AND parted = ? {AS_SEEN}",
            CLEAN,
        )
        return [
            *(
                FailedStrip(
                    row["name"],
                    row["id"],
                    _answered_by(row["shortfalls"]),
                    "go-ahead fell short since",
                )
                for row in self.judged(changed)
                if row["shortfalls"]
            ),
            *(FailedStrip(row["name"], row["strip"]) for row in sampled),
        ]

    def judged(self, rows: Sequence[StripRow]) -> list[TriedStrip]:
        """Strips with their readings, and what each falls short of.

        Args:
            rows: as they are recorded.
        """
        read, dials = self.readings_of(rows), self._slips.dials()
        tried: list[TriedStrip] = []
        for row in rows:
            readings = read.get(row["id"], [])
            widths = [reading["width_mm"] for reading in readings]
            tried.append(
                {
                    **row,
                    "widths_mm": widths,
                    "readings": [reading["text"] for reading in readings],
                    "shortfalls": self._shortfalls(row, widths, dials),
                }
            )
        return tried

    def readings_of(self, rows: Sequence[WithId]) -> dict[str, list[ReadingRow]]:
        """Readings by the id of their strip or bleed check.

        Args:
            rows: the strips and bleed checks asked about.
        """
        few = len(rows) <= _AT_ONCE
        places = ", ".join("?" * len(rows))
        where, values = (
            (f'"of" IN ({places})', [r["id"] for r in rows])
            if few
            else ("job = ?", [self._reader.job.id])
        )
        by_strip: dict[str, list[ReadingRow]] = {}
        for reading in self._reader.select(
            ReadingRow, f'SELECT * FROM readings WHERE {where} ORDER BY "of", n', values
        ):
            by_strip.setdefault(reading["of"], []).append(reading)
        return by_strip

    def _shortfalls(
        self, row: StripRow, widths_mm: Sequence[float], dials: Sequence[DialRange]
    ) -> tuple[Shortfall, ...]:
        strip = Judged(
            widths_mm=tuple(widths_mm),
            bubbling=row["bubbling"],
            bond=row["bond"],
            damp=bool(row["damp"]),
            exposed_mat=bool(row["exposed_mat"]),
            parted=row["parted"],
            bonded_mm=row["bonded_mm"],
            cooled_min=_minutes(row["seen_utc"], row["pulled_utc"]),
            off_dial=off_dial(row, dials),
        )
        limits = self._limits.acceptance(row["sheet"], row["seen_utc"])
        if row["by_hand"]:  # a hand strip is judged by its bond
            limits = replace(limits, by_bleed_out=False)
        return shortfalls(strip, limits)


def _answered_by(short: Sequence[Shortfall]) -> str:
    """Which check on a lap answers what its strip falls short of: what the edge shows, or a pull."""
    return BLEED if all(s.code in _AT_THE_EDGE for s in short) else PEEL


def _minutes(start_utc: str, end_utc: str | None) -> float | None:
    if end_utc is None:
        return None
    between = datetime.fromisoformat(end_utc) - datetime.fromisoformat(start_utc)
    return between.total_seconds() / 60
