"""The passport of a machine, sheet, instrument or person: what each job knows of it.

Invariant: nothing is recorded here; a job's strips are judged by that job's own limits.
"""

from __future__ import annotations

from typing import Any

from weldcal.book.looking_back import LookingBack
from weldcal.records.fields import same_name
from weldcal.views.passport import Called, OnJob, Passport

_COLUMN = {
    "machine": "machine",
    "sheet": "sheet",
    "instrument": "instrument",
    "person": "seen_by",
}


class Passports(LookingBack):
    """Verbs that look at one thing over all jobs."""

    def passport(self, what: str, name: str) -> Passport:
        """A thing's passport.

        Args:
            what: machine, sheet, instrument or person.
            name: as this job lists it.
        """
        name = self._listed_in(what, self.job.id, name)
        known = self.everywhere(what, name)
        same = {(c.job, same_name(c.name)) for c in known}
        apart = [
            c
            for c in self.called(what)
            if same_name(c.name) == same_name(name) and (c.job, same_name(c.name)) not in same
        ]
        measures = self.measured(name) if what == "machine" else []
        return Passport(
            what=what,
            name=name,
            jobs=tuple(self._on_job(what, c, measures) for c in known),
            measures=tuple(measures),
            repairs=tuple(self.repairs(name)) if what == "machine" else (),
            apart=tuple(apart),
        )

    def _on_job(self, what: str, thing: Called, measures: list[dict[str, Any]]) -> OnJob:
        column = _COLUMN[what]
        book = type(self)(self.path, job=thing.job_name, by=self._by, clock=self._clock)
        try:
            strips = [s for s in book.strips() if s[column] == thing.name]
            runs = [r for r in book._of("runs") if r[column] == thing.name]
        finally:
            book.close()
        days = sorted({row["day"] for row in (*strips, *runs)})
        return OnJob(
            job=thing.job_name,
            called=thing.name,
            first_day=days[0] if days else None,
            last_day=days[-1] if days else None,
            days=len(days),
            strips=len(strips),
            passed=sum(not s["shortfalls"] for s in strips),
            welded_m=sum(abs(r["end_m"] - r["start_m"]) for r in runs if r["end_m"] is not None),
            measured=sum(m["job"] == thing.job for m in measures),
        )
