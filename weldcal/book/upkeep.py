"""The start-up list of a job, yearly looks, and leaks followed until they are dry.

Invariant: the last answer to a line counts and the others stay; a look's items are items of a
visit, open until settled; a leak is open until it was looked at dry after rain.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded
from weldcal.book.stock import Stock
from weldcal.errors import Misplaced, NotAChoice
from weldcal.quality.upkeep import CLOSED, START_UP, due, open_answer, stage
from weldcal.records.common import Seen
from weldcal.records.fields import same_name
from weldcal.records.stock import PunchItem
from weldcal.records.upkeep import LeakStep, Look, StartAnswer, StartLine
from weldcal.views.upkeep import Asked, LeakNow, LookDue
from weldcal.words import _

Row = dict[str, Any]


class Upkeep(Stock):
    """Verbs before the first lap and after the last."""

    # -- the start-up list ----------------------------------------------------------------

    def start_up(self) -> list[Asked]:
        """Every line of the list, the job's own last, with its last answer."""
        answers: dict[str, Row] = {}
        for row in self._seen_rows("start_answers"):
            answers[row["line"]] = row
        lines = [(one.code, one.asks, one.source, False) for one in START_UP]
        lines += [
            (row["id"], row["line"], row["source"], True) for row in self._seen_rows("start_lines")
        ]
        return [
            Asked(n, code, asks, source, added, answers.get(code))
            for n, (code, asks, source, added) in enumerate(lines, 1)
        ]

    def start_up_open(self) -> list[Asked]:
        """Lines not answered, or answered no."""
        return [
            one
            for one in self.start_up()
            if open_answer(one.answer["answer"] if one.answer else None)
        ]

    def add_start_line(self, line: StartLine) -> Recorded:
        """Add a line to the job's list."""
        with self.writing(self.typist(line.seen.by)) as writer:
            line_id = writer.add("start-line", line, job=self.job.id)
        return Recorded(line_id, line.line, self.told("start_lines", line_id))

    def answer_start_up(
        self, which: Sequence[int], answer: str, seen: Seen, note: str | None = None
    ) -> list[Recorded]:
        """Answer lines of the list, by their numbers.

        Raises:
            NotAChoice: there is no such line; nothing is recorded.
        """
        lines = {one.n: one for one in self.start_up()}
        for n in which:
            if n not in lines:
                raise NotAChoice(name=_("line"), text=str(n), allowed=f"1-{len(lines)}")
        with self.writing(self.typist(seen.by)) as writer:
            records = [
                StartAnswer(line=lines[n].code, seen=seen, answer=answer, note=note) for n in which
            ]
            ids = [writer.add("start-answer", one, job=self.job.id) for one in records]
        told = self.told_of("start_answers", ids)
        return [
            Recorded(one, str(n), told[one], {"line": lines[n].code, "answer": answer})
            for n, one in zip(which, ids, strict=True)
        ]

    def start_up_note(self) -> list[Note]:
        """What the list says before the first lap of a job; nothing once one was welded."""
        if self.rows("SELECT 1 FROM runs WHERE job = ? LIMIT 1", (self.job.id,)):
            return []
        left = len(self.start_up_open())
        return [Note("start_up_open", {"open": left})] if left else []

    # -- yearly looks -----------------------------------------------------------------------

    def record_look(self, look: Look, items: Sequence[PunchItem]) -> Recorded:
        """Record a look at an area, with its items."""
        with self.writing(self.typist(look.seen.by)) as writer:
            named = replace(look, name=writer.next_name("Y", self.job.id))
            look_id = writer.add("look", named, job=self.job.id)
            names = []
            for item in items:
                one = replace(item, name=writer.next_name("V", self.job.id), look=look_id)
                writer.add("punch", one, job=self.job.id)
                names.append(one.name)
        notes = list(self.told("looks", look_id))
        areas = self.names_in("areas")
        if look.area and areas and same_name(look.area) not in map(same_name, areas):
            known = list(dict.fromkeys(areas))
            notes.append(Note("unlisted", {"what": "area", "name": look.area, "known": known}))
        if names:
            notes.append(Note("look_items", {"names": names}))
        return Recorded(look_id, named.name, tuple(notes), {"items": names})

    def looks(self) -> list[Row]:
        """Looks, in the order they were made."""
        return self._seen_rows("looks")

    def looks_due(self) -> list[LookDue]:
        """For each area welded or looked at: when it is to be looked at again.

        Some months (a limit) after the last look at it, or after it was last welded on. An area
        that was only listed is not due.
        """
        months = int(self.limits()["look_months"].value.number)
        today = self._day(self.now().isoformat())
        looks, welded = self.looks(), self._last_welded()
        items = self.punch_list(open_only=True)
        areas = {**{same_name(row["area"]): row["area"] for row in looks}, **self._area_names()}
        found = []
        for area in dict.fromkeys([*welded, *map(same_name, (row["area"] for row in looks))]):
            if not area and area not in welded and welded:
                continue  # a look at all of the roof counts for each of its areas
            mine = [row for row in looks if same_name(row["area"]) in (area, "")]
            last = max((row["day"] for row in mine), default=None)
            ids = {row["id"] for row in mine}
            left = sum(row["look"] in ids for row in items)
            at = due([day for day in (last, welded.get(area)) if day], months)
            name = areas.get(area, area)
            found.append(LookDue(name, last, welded.get(area), at, at <= today, left))
        return found if months else []

    def _area_names(self) -> dict[str, str]:
        """Areas as spelt, by key: as listed, else as on the seam list."""
        rows = self.rows("SELECT DISTINCT area FROM seams WHERE job = ?", (self.job.id,))
        names = [*(row["area"] or "" for row in rows), *self.names_in("areas")]
        return {same_name(name): name for name in names}

    def _last_welded(self) -> dict[str, str]:
        """The day each area was last welded on, by key; "" for seams without an area."""
        rows = self.rows(
            "SELECT s.area, max(r.day) AS day FROM runs r LEFT JOIN seams s "
            "ON s.job = r.job AND s.seam_key = r.seam_key WHERE r.job = ? GROUP BY s.area",
            (self.job.id,),
        )
        found: dict[str, str] = {}
        for row in rows:
            key = same_name(row["area"] or "")
            found[key] = max(found.get(key, ""), row["day"])
        return found

    # -- leaks ------------------------------------------------------------------------------

    def leak_step(self, name: str, step: LeakStep) -> Recorded:
        """Record what was done about a leak.

        Raises:
            Misplaced: the name is not of a leak.
        """
        row = self.find(name)
        if row["table"] != "leaks":
            raise Misplaced(text=name, why=_("a leak has a name like K1"))
        with self.writing(self.typist(step.seen.by)) as writer:
            writer.add("leak-step", step, job=self.job.id, about=row["id"])
        (now,) = [one for one in self.leaks() if one.row["id"] == row["id"]]
        note = Note("leak_stage", {"leak": row["name"], "stage": now.stage})
        return Recorded(row["id"], row["name"], (note,), {"stage": now.stage})

    def leaks(self, *, open_only: bool = False) -> list[LeakNow]:
        """Leaks, in the order they were seen, each with its steps and where it stands."""
        steps: dict[str, list[Row]] = {}
        for row in self.rows(
            "SELECT * FROM leak_steps WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        ):
            steps.setdefault(row["of"], []).append(row)
        found = []
        for row in self._seen_rows("leaks"):
            mine = steps.get(row["id"], [])
            told = ((one["step"], None if one["dry"] is None else bool(one["dry"])) for one in mine)
            found.append(LeakNow(row, mine, stage(told)))
        return [one for one in found if not (open_only and one.stage == CLOSED)]

    def _seen_rows(self, table: str) -> list[Row]:
        return self.rows(
            f"SELECT * FROM {table} WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        )
