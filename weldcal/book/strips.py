"""Strips and what they permit: conditions, strips, pulls, the go-ahead.

Invariant: what can be kept is kept, and what is odd about it becomes a note;
a strip is judged by the limits in force when it was seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from weldcal.book.core import Note, Service
from weldcal.book.job_reader import AS_SEEN, NEWEST
from weldcal.quality.goahead import Key, PassedStrip, Shortfall, voids
from weldcal.quantities import retyped
from weldcal.row_types.strips import ReadingRow, StripRow
from weldcal.tables.columns import LATE_H, utc

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marking
    from weldcal.book.verdicts import Verdicts, WithId
    from weldcal.records.day import TypedSetting
    from weldcal.views.rows import JudgedStrip, TriedStrip


# Codes of the notes that say a strip permits welding, or permitted it then.
PERMITTED = ("go_ahead", "go_ahead_then")


class Strips(Service):
    """Test strips with their verdicts."""

    _reader: JobReader
    _limits: Limits
    _marks: Marking
    _verdicts: Verdicts

    def strips_on_day(self, at: str) -> int:
        """How many strips the job's day of a time has.

        Args:
            at: the time, ISO 8601 on the job's clock.
        """
        return self._reader.each_of(int, "count(*)", "strips", "AND day = ?", self.day_of(at))[0]

    def strips(self) -> list[JudgedStrip]:
        """All strips, in the order they were seen, with readings, judgement and shortfalls."""
        from weldcal.views.rows import JudgedStrip  # many structs; to record needs none

        rows = self._reader.of_job(StripRow, AS_SEEN)
        return self._marks.marked(JudgedStrip, self.judged(rows))

    def last_setting(
        self, machine: str | None = None, sheet: str | None = None
    ) -> TypedSetting | None:
        """The last strip's setting, to be taken over; None where there is none.

        Args:
            machine, sheet: of a strip on these, where they are named.
        """
        rows = self._reader.of_job(
            StripRow,
            "AND NOT by_hand AND (?2 IS NULL OR machine = ?2) AND (?3 IS NULL OR sheet = ?3) "
            f"{NEWEST} LIMIT 1",
            machine,
            sheet,
        )
        return setting_of(rows[0]) if rows else None

    def judged(self, rows: Sequence[StripRow]) -> list[TriedStrip]:
        """Strips with their readings, and what each falls short of.

        Args:
            rows: as they are recorded.
        """
        return self._verdicts.judged(rows)

    def readings_of(self, rows: Sequence[WithId]) -> dict[str, list[ReadingRow]]:
        """Readings by the id of their strip or bleed check.

        Args:
            rows: the strips and bleed checks asked about.
        """
        return self._verdicts.readings_of(rows)

    def verdict_of(self, row: TriedStrip) -> tuple[Note, ...]:
        """What to say of a strip just judged.

        Args:
            row: the strip.
        """
        if not row["shortfalls"]:
            of = {
                "name": row["name"],
                "machine": row["machine"],
                "sheet": row["sheet"],
                "lap": row["lap"],
            }
            today = row["day"] == self.day_of(self._reader.now().isoformat())
            if today and row["late_h"] <= LATE_H:
                return (Note("go_ahead", of),)
            # Typed in afterwards: what it permitted then may be over by now.
            return (Note("go_ahead_then", {**of, "at": row["seen_local"]}),)
        return tuple(Note("short", {"shortfall": short}) for short in row["shortfalls"])

    def go_ahead(self, key: Key, at: str) -> tuple[TriedStrip | None, tuple[Shortfall, ...]]:
        """The strip that permits welding at a time, else the nearest, and what voided it.

        Args:
            key: what is to be welded, with what.
            at: the time, ISO 8601 on the job's clock.

        Returns:
            (strip row, ()) where one stands; (strip row, what voided it) where the
            last one no longer does; (None, (no_go_ahead,)) where there never was one.
        """
        best: tuple[TriedStrip, tuple[Shortfall, ...]] | None = None
        for strip in self.passed(utc(at), by_hand=key.hand is not None):
            void = voids(self._standing(strip), key, self.day_of(at))
            if not void:
                return strip, ()
            if best is None or len(void) < len(best[1]):
                best = (strip, void)
        own = self._newest_short(key, utc(at))
        if own is not None and (best is None or best[0]["machine"] != key.machine):
            return None, (own,)
        return best or (None, (Shortfall("no_go_ahead", {}),))

    def _newest_short(self, key: Key, until: str) -> Shortfall | None:
        """The newest strip of a machine, sheet and lap kind, where it fell short of the limits."""
        rows = self._reader.of_job(
            StripRow,
            "AND machine = ? AND sheet = ? AND lap = ? AND seen_utc <= ? AND by_hand = ? "
            f"AND (seen_by = ? OR NOT by_hand) {NEWEST} LIMIT 1",
            key.machine,
            key.sheet,
            key.lap,
            until,
            int(key.hand is not None),
            key.hand,
        )
        short = [row["name"] for row in self.judged(rows) if row["shortfalls"]]
        return Shortfall("own_strip_short", {"name": short[0]}) if short else None

    def passed(self, until: str, *, by_hand: bool = False) -> list[TriedStrip]:
        """The last strips that met the limits, newest first.

        Args:
            until: those pulled by then, UTC.
            by_hand: those of hand tools, instead of machines.
        """
        rows = self._reader.of_job(
            StripRow,
            "AND bond = 'good' AND coalesce(pulled_utc, seen_utc) <= ? AND by_hand = ? "
            f"{NEWEST} LIMIT 60",
            until,
            int(by_hand),
        )
        return [strip for strip in self.judged(rows) if not strip["shortfalls"]]

    def _standing(self, strip: StripRow) -> PassedStrip:
        return PassedStrip(
            id=strip["id"],
            name=strip["name"],
            key=Key(
                strip["machine"],
                strip["sheet"],
                strip["lap"],
                strip["nozzle_width_mm"],
                strip["seen_by"] if strip["by_hand"] else None,
            ),
            day=strip["day"],
            nozzle_c=strip["nozzle_c"],
            speed_m_per_min=strip["true_speed_m_per_min"] or strip["speed_m_per_min"],
        )

    def day_of(self, at: str) -> str:
        """The job's local day of a time, ISO.

        Args:
            at: the time, ISO 8601 on the job's clock.
        """
        local = datetime.fromisoformat(at)
        return (local - timedelta(hours=self._reader.job.day_begins)).date().isoformat()


def setting_of(strip: StripRow) -> TypedSetting:
    """A strip's setting, as it was typed.

    Args:
        strip: its row; of a hand strip nobody typed a speed.
    """
    from weldcal.records.day import TypedSetting

    unit = strip["speed_unit"]
    return TypedSetting(
        strip["machine"],
        strip["sheet"],
        strip["lap"],
        retyped(strip["nozzle_text"], strip["nozzle_unit"]),
        retyped(strip["speed_text"] or "", "" if unit in (None, "mark") else unit),
    )
