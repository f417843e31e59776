"""Where the job's roof is, for the sun; and how long a reading of the sheet holds under it.

Invariant: a place nobody can tell gives no site, and the hour alone speaks; sun and hour only
ever make a reading's hours less than the rule's.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import CurrentJob, Service
from weldcal.physics.sheet_path import SheetRead
from weldcal.physics.sun import SunSite
from weldcal.quality.go_ahead_rules import LOOK, SUN_LEAST_H, Rule
from weldcal.records.times import seconds, stamp, zone
from weldcal.row_types.strips import StripRow
from weldcal.rules.where import coordinates
from weldcal.tables.columns import utc

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.last_read import LastRead
    from weldcal.book.strips import Strips


Given = tuple[float, float | None]  # a reading about to be recorded: when (seconds), °C


def site_of(job: CurrentJob, at: str) -> SunSite | None:
    """The site on the local day of a time.

    Args:
        at: ISO 8601 on the job's clock.
    """
    if not job.place:
        return None
    local = datetime.fromisoformat(at)
    ahead = local.utcoffset()
    where = coordinates(job.place, ahead.total_seconds() / 3600 if ahead else 0.0)
    if where is None:
        return None
    passed = local.hour * 3600 + local.minute * 60 + local.second
    return SunSite(*where, midnight_s=local.timestamp() - passed)


class _Advice(TypedDict):
    seen_utc: str
    question: str
    answer: str


class Sunlit(Service):
    """How old a sheet's reading may be, by what the sun may have done since."""

    _reader: JobReader
    _last_read: LastRead
    _strips: Strips

    def sheet_read_s(self, now: str, given: Given | None) -> float | None:
        """When the sheet, else the air, was last read, seconds; a value carried over was not.

        Args:
            now: the time asked about, ISO 8601.
            given: a reading about to be recorded.
        """
        if given is not None:
            return given[0]
        last = self._last_read.conditions(now)
        read = last.get("sheet_temp") or last.get("ambient")
        return seconds(read[1]) if read else None

    def reading_holds_h(
        self, strip: StripRow, now: str, given: Given | None, rules: Sequence[Rule]
    ) -> float | None:
        """Hours after which sun and hour alone may have taken the sheet past its next step.

        The next step is that of the day's newest advice for what the go-ahead is for. `None`
        where nobody read the sheet or asked for advice, or where it takes longer than the rule
        on readings allows.

        Args:
            strip: the go-ahead.
            now: the time asked about, ISO 8601.
            given: a reading about to be recorded.
            rules: those of the job.
        """
        last = self._last_read.conditions(now)
        read_s = self.sheet_read_s(now, given)
        sheet_c = given[1] if given is not None else last.get("sheet_temp", (None, ""))[0]
        longest = {rule.code: rule.threshold for rule in rules if rule.level == LOOK}["reading_age"]
        if read_s is None or sheet_c is None or longest is None:
            return None
        step_k = self._next_step_k(strip, now, sheet_c, read_s)
        if step_k is None:
            return None
        local = datetime.fromtimestamp(read_s, zone(self._reader.job.zone))
        then = self._last_read.conditions(stamp(local))
        air, wind = (then.get(name, (None, ""))[0] for name in ("ambient", "wind"))
        read = SheetRead(
            sheet_c,
            local.hour + local.minute / 60,
            air,
            wind,
            site_of(self._reader.job, stamp(local)),
        )
        holds = read.hours_until(step_k, longest)
        return None if holds is None else max(holds, SUN_LEAST_H)

    def _next_step_k(
        self, strip: StripRow, now: str, sheet_c: float, read_s: float
    ) -> float | None:
        """How much warmer the sheet may get until another speed was advised; `None` where no
        other speed was, nor any advice, or where the sheet is past its step. Where that advice
        took the sheet, by the same reading, to have moved, it counts from there: asking again
        makes a reading no younger."""
        asked = {"machine": strip["machine"], "sheet": strip["sheet"], "lap": strip["lap"]}
        for row in self._reader.select(
            _Advice,
            "SELECT seen_utc, question, answer FROM advice WHERE job = ? AND day = ? AND seen_utc <= ? "
            "ORDER BY seen_utc DESC, tick DESC, device DESC LIMIT 20",
            (self._reader.job.id, self._strips.day_of(now), utc(now)),
        ):
            question, answer = json.loads(row["question"]), json.loads(row["answer"])
            if not asked.items() <= question.items() or "forecast" not in answer:
                continue
            if "sheet_c" not in question:
                return None
            step_c = float(answer.get("holds_until_sheet_c", "-inf"))
            if "sheet_now_c" in answer and seconds(row["seen_utc"]) >= read_s:
                sheet_c = float(answer["sheet_now_c"])
            return step_c - sheet_c if step_c > sheet_c else None
        return None
