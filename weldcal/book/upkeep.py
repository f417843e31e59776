"""The start-up list of a job, yearly looks, and leaks followed until they are dry.

Invariant: the last answer to a line counts and the others stay; a look's items are items of a
visit, open until settled; a leak is open until it was looked at dry after rain.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Note, Service
from weldcal.quality.upkeep import CLOSED, START_UP, due, open_answer, stage
from weldcal.records.fields import same_name
from weldcal.row_types.site import LeakRow, LeakStepRow, LookRow, StartAnswerRow, StartLineRow
from weldcal.views.upkeep import LeakNow, ListLine, LookDue

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.stock import Stock
    from weldcal.book.strips import Strips


_IN_ORDER = "ORDER BY seen_utc, tick, id"


class _LastWelded(TypedDict):
    area: str | None
    day: str


class Upkeep(Service):
    """The start-up list, yearly looks, leaks followed up."""

    _reader: JobReader
    _limits: Limits
    _stock: Stock
    _strips: Strips

    def start_up(self) -> list[ListLine]:
        """Every line of the list, the job's own last, with its last answer."""
        answers: dict[str, StartAnswerRow] = {}
        for row in self._reader.of_job(StartAnswerRow, _IN_ORDER):
            answers[row["line"]] = row
        own = self._reader.of_job(StartLineRow, _IN_ORDER)
        lines = [(one.code, one.asks, one.source, False) for one in START_UP]
        lines += [(line["id"], line["line"], line["source"], True) for line in own]
        return [
            ListLine(n, code, asks, source, added, answers.get(code))
            for n, (code, asks, source, added) in enumerate(lines, 1)
        ]

    def start_up_open(self) -> list[ListLine]:
        """Lines not answered, or answered no."""
        return [
            line
            for line in self.start_up()
            if open_answer(line.answer["answer"] if line.answer else None)
        ]

    def start_up_note(self) -> list[Note]:
        """What the list says before the first lap of a job; nothing once one was welded."""
        welded = self._reader.each_of(int, "1", "runs", "LIMIT 1")
        if welded:
            return []
        open_lines = len(self.start_up_open())
        return [Note("start_up_open", {"open": open_lines})] if open_lines else []

    def looks(self) -> list[LookRow]:
        """Looks, in the order they were made."""
        return self._reader.of_job(LookRow, _IN_ORDER)

    def looks_due(self) -> list[LookDue]:
        """For each area welded or looked at: when it is to be looked at again.

        Some months (a limit) after the last look at it, or after it was last welded on. An area
        that was only listed is not due.
        """
        months = int(self._limits.limits()["look_months"].value.number)
        today = self._strips.day_of(self._reader.now().isoformat())
        looks, welded = self.looks(), self._last_welded()
        items = self._stock.punch_list(open_only=True)
        areas = {**{same_name(row["area"]): row["area"] for row in looks}, **self._area_names()}
        areas_due = []
        for area in dict.fromkeys([*welded, *map(same_name, (row["area"] for row in looks))]):
            if not area and area not in welded and welded:
                continue  # a look at all of the roof counts for each of its areas
            mine = [row for row in looks if same_name(row["area"]) in (area, "")]
            last = max((row["day"] for row in mine), default=None)
            ids = {row["id"] for row in mine}
            left = sum(row["look"] in ids for row in items)
            at = due([day for day in (last, welded.get(area)) if day], months)
            name = areas.get(area, area)
            areas_due.append(LookDue(name, last, welded.get(area), at, at <= today, left))
        return areas_due if months else []

    def _area_names(self) -> dict[str, str]:
        """Areas as spelt, by key: as listed, else as on the seam list."""
        areas = self._reader.each_of(str, "DISTINCT coalesce(area, '')", "seams")
        names = [*areas, *self._reader.names_in("areas")]
        return {same_name(name): name for name in names}

    def _last_welded(self) -> dict[str, str]:
        """The day each area was last welded on, by key; "" for seams without an area."""
        rows = self._reader.select(
            _LastWelded,
            "SELECT s.area, max(r.day) AS day FROM runs r LEFT JOIN seams s "
            "ON s.job = r.job AND s.seam_key = r.seam_key WHERE r.job = ? GROUP BY s.area",
            (self._reader.job.id,),
        )
        last: dict[str, str] = {}
        for row in rows:
            key = same_name(row["area"] or "")
            last[key] = max(last.get(key, ""), row["day"])
        return last

    def leaks(self, *, open_only: bool = False) -> list[LeakNow]:
        """Leaks, in the order they were seen, each with its steps and where it stands.

        Args:
            open_only: without those that are closed.
        """
        steps: dict[str, list[LeakStepRow]] = {}
        for step in self._reader.of_job(LeakStepRow, _IN_ORDER):
            steps.setdefault(step["of"], []).append(step)
        leaks = []
        for row in self._reader.of_job(LeakRow, _IN_ORDER):
            mine = steps.get(row["id"], [])
            outcomes = (
                (one["step"], None if one["dry"] is None else bool(one["dry"])) for one in mine
            )
            leaks.append(LeakNow(row, mine, stage(outcomes)))
        return [leak for leak in leaks if not (open_only and leak.stage == CLOSED)]
