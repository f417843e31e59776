"""The start-up list of a job, yearly looks, and leaks followed until they are dry.

Invariant: the last answer to a line counts and the others stay; a look's items are items of a
visit, open until settled; a leak is open until it was looked at dry after rain.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.core import Note, Recorded, Service
from weldcal.errors import NotAChoice
from weldcal.records.common import Seen
from weldcal.records.fields import same_name
from weldcal.records.stock import PunchItem
from weldcal.records.upkeep import LeakStep, Look, StartAnswer, StartLine
from weldcal.row_types.site import LeakRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.upkeep import Upkeep


class UpkeepRecorder(Service):
    """Records answers of the start-up list, yearly looks and steps of a leak."""

    _reader: JobReader
    _transactions: Transactions
    _marks: Marking
    _upkeep: Upkeep

    def add_start_line(self, line: StartLine) -> Recorded:
        """Add a line to the job's list.

        Args:
            line: as typed.
        """
        line_id = self._transactions.record("start-line", line)
        return Recorded(line_id, line.line, self._marks.notes("start_lines", line_id))

    def answer_start_up(
        self, which: Sequence[int], answer: str, seen: Seen, note: str | None = None
    ) -> list[Recorded]:
        """Answer lines of the list, by their numbers.

        Args:
            which: numbers of lines.
            answer: yes, no or does not apply.
            seen: when, and by whom.
            note: in their own words.

        Raises:
            NotAChoice: there is no such line; nothing is recorded.
        """
        lines = {one.n: one for one in self._upkeep.start_up()}
        for n in which:
            if n not in lines:
                raise NotAChoice(name=_("line"), text=str(n), allowed=f"1-{len(lines)}")
        with self._transactions.by(seen) as writer:
            records = [
                StartAnswer(line=lines[n].code, seen=seen, answer=answer, note=note) for n in which
            ]
            ids = [writer.add("start-answer", one) for one in records]
        notes = self._marks.notes_of("start_answers", ids)
        return [
            Recorded(one, str(n), notes[one], {"line": lines[n].code, "answer": answer})
            for n, one in zip(which, ids, strict=True)
        ]

    def record_look(self, look: Look, items: Sequence[PunchItem]) -> Recorded:
        """Record a look at an area, with its items.

        Args:
            look: as typed.
            items: what is to be done, as typed.
        """
        with self._transactions.by(look.seen) as writer:
            named = writer.named("look", look)
            look_id = writer.add("look", named)
            names = []
            for item in items:
                one = writer.named("punch", replace(item, look=look_id))
                writer.add("punch", one)
                names.append(one.name)
        notes = list(self._marks.notes("looks", look_id))
        areas = self._reader.names_in("areas")
        if look.area and areas and same_name(look.area) not in map(same_name, areas):
            known = list(dict.fromkeys(areas))
            notes.append(Note("unlisted", {"what": "area", "name": look.area, "known": known}))
        if names:
            notes.append(Note("look_items", {"names": names}))
        return Recorded(look_id, named.name, tuple(notes), {"items": names})

    def leak_step(self, name: str, step: LeakStep) -> Recorded:
        """Record what was done about a leak.

        Args:
            name: of the leak.
            step: as typed.

        Raises:
            Misplaced: the name is not of a leak.
        """
        row = self._reader.find_in(LeakRow, name, _("a leak has a name like K1"))
        self._transactions.record("leak-step", step, row["id"])
        (now,) = [one for one in self._upkeep.leaks() if one.row["id"] == row["id"]]
        note = Note("leak_stage", {"leak": row["name"], "stage": now.stage})
        return Recorded(row["id"], row["name"], (note,), {"stage": now.stage})
