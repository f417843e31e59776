"""The passport of a machine, sheet, instrument or person: what each job knows of it.

Invariant: nothing is recorded here; a job's strips are judged by that job's own limits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.quality.welded_over import again_m, welded_m
from weldcal.records.fields import same_name
from weldcal.row_types.machines import MeasureRow
from weldcal.views.passport import CalledOnJob, KnownOnJob, Passport
from weldcal.views.rows import MarkedRun

if TYPE_CHECKING:
    from weldcal.book.firm import Firm
    from weldcal.book.job_reader import JobReader
    from weldcal.book.machines import Machines
    from weldcal.book.whole import Book


_COLUMN = {
    "machine": "machine",
    "sheet": "sheet",
    "instrument": "instrument",
    "person": "seen_by",
}


class Passports(Service):
    """What is known of a machine, sheet or person over all jobs."""

    _reader: JobReader
    _on_job: Callable[[str], Book]
    _firm: Firm
    _machines: Machines

    def passport(self, what: str, name: str) -> Passport:
        """A thing's passport.

        Args:
            what: machine, sheet, instrument or person.
            name: as this job lists it.
        """
        name = self._firm.listed_in(what, self._reader.job.id, name)
        called = self._firm.everywhere(what, name)
        same = {(c.job, same_name(c.name)) for c in called}
        apart = [
            c
            for c in self._firm.called(what)
            if same_name(c.name) == same_name(name) and (c.job, same_name(c.name)) not in same
        ]
        measures = self._machines.measured(name) if what == "machine" else []
        return Passport(
            what=what,
            name=name,
            jobs=tuple(self._on_one_job(what, c, measures) for c in called),
            measures=tuple(measures),
            repairs=tuple(self._machines.repairs(name)) if what == "machine" else (),
            apart=tuple(apart),
        )

    def _on_one_job(self, what: str, thing: CalledOnJob, measures: list[MeasureRow]) -> KnownOnJob:
        column = _COLUMN[what]
        book = self._on_job(thing.job_name)
        try:
            strips = [s for s in book.strips.strips() if _named(s, column) == thing.name]
            runs = [
                r for r in book.summing.marked(MarkedRun, "runs") if _named(r, column) == thing.name
            ]
            again = again_m(book.summing.welded())
        finally:
            book.close()
        days = sorted({row["day"] for row in (*strips, *runs)})
        return KnownOnJob(
            job=thing.job_name,
            called=thing.name,
            first_day=days[0] if days else None,
            last_day=days[-1] if days else None,
            days=len(days),
            strips=len(strips),
            passed=sum(not s["shortfalls"] for s in strips),
            welded_m=welded_m(runs),
            welded_again_m=sum(again[r["id"]] for r in runs),
            measured=sum(m["job"] == thing.job for m in measures),
        )


def _named(row: Mapping[str, object], column: str) -> object:
    """What a strip or a run says of a machine, a sheet or a person."""
    return row[column]
