"""Things that outlive a job: which machine, sheet, instrument or person here is which there.

Invariant: nothing is recorded by using a name again; what is said of two things is an
entry, and the last word on them counts.
"""

from __future__ import annotations

from typing import Any

from weldcal.book import device
from weldcal.book.core import Recorded
from weldcal.book.marks import Marks
from weldcal.errors import Misplaced, Unheard
from weldcal.log import store
from weldcal.records.fields import same_name
from weldcal.records.firm import Same, Thing
from weldcal.rules.same_thing import Key, Named, Said, one_thing
from weldcal.views.passport import Called
from weldcal.words import _

TABLE = {"machine": "machines", "sheet": "sheets", "instrument": "instruments", "person": "people"}


class Firm(Marks):
    """What is one thing over all jobs of the book."""

    _grouped: tuple[tuple[int, ...], dict[str, dict[Key, int]]] | None = None

    def groups(self, what: str) -> dict[Key, int]:
        """For each (job, folded name) of a kind of thing, the number of its group.

        Args:
            what: machine, sheet, instrument or person.
        """
        now = self.unchanged()
        if self._grouped is None or self._grouped[0] != now:
            self._grouped = now, {}
        kept = self._grouped[1]
        if what not in kept:
            kept[what] = self._group(what)
        return kept[what]

    def _group(self, what: str) -> dict[Key, int]:
        connection = self.reading()
        with store.trouble(self.path):
            here = device.all_here(connection)
        rows = self.rows(
            f"SELECT t.job, t.name, j.device FROM {TABLE[what]} t JOIN jobs j ON j.id = t.job "
            "ORDER BY j.tick, j.device, t.tick, t.id"
        )
        things = [
            Named((r["job"], same_name(r["name"])), "" if r["device"] in here else r["device"])
            for r in rows
        ]
        said = self.rows("SELECT * FROM sames WHERE what = ? ORDER BY tick, device, id", (what,))
        words = [
            Said((r["one_job"], r["one"]), (r["other_job"], r["other"]), bool(r["same"]))
            for r in said
        ]
        return one_thing(list({t.key: t for t in things}.values()), words)

    def everywhere(self, what: str, name: str) -> list[Called]:
        """A thing of this job, as every job it was on calls it, this one among them; in order.

        A name that this job does not list is of this job alone.
        """
        here = Called(self.job.id, self.job.name, name)
        groups = self.groups(what)
        mine = groups.get((self.job.id, same_name(name)))
        if mine is None:
            return [here]
        return [c for c in self.called(what) if groups[c.job, same_name(c.name)] == mine]

    def called(self, what: str) -> list[Called]:
        """Everything of a kind that any job lists, by jobs in the order they began."""
        rows = self.rows(
            f"SELECT t.job, j.name AS job_name, t.name FROM {TABLE[what]} t "
            "JOIN jobs j ON j.id = t.job ORDER BY j.tick, j.device, t.tick, t.id"
        )
        return [Called(**row) for row in rows]

    def say_same(
        self,
        what: str,
        name: str,
        job_name: str,
        other: str | None = None,
        *,
        same: bool = True,
        by: str | None = None,
        note: str | None = None,
    ) -> Recorded:
        """Record that a thing of this job and one of another job are one, or are not.

        Args:
            name: as this job calls it.
            job_name, other: the other job, and what it calls it; the same name if not given.
            same: False says that they are two.

        Raises:
            Unheard: one of them is not listed, or there is no such job.
            Misplaced: both are of one job.
        """
        job = self._other_job(job_name)
        mine = self._listed_in(what, self.job.id, name)
        theirs = self._listed_in(what, job["id"], other or name)
        if job["id"] == self.job.id:
            raise Misplaced(text=job_name, why=_("that is this job; name another one"))
        seen = self.seen(by, None)
        record = Same(
            what=what,
            one=Thing(job=self.job.id, name=mine),
            other=Thing(job=job["id"], name=theirs),
            same=same,
            seen=seen,
            note=note,
        )
        with self.writing(self.typist(seen.by)) as writer:
            entry = writer.add("same", record, job=self.job.id)
        values = {"what": what, "job": job["name"], "other": theirs, "same": same}
        return Recorded(entry, mine, (), values)

    def _other_job(self, name: str) -> dict[str, Any]:
        jobs = self.rows("SELECT id, name FROM jobs ORDER BY tick")
        for job in jobs:
            if same_name(job["name"]) == same_name(name):
                return job
        raise Unheard(what=_("job"), text=name, known=", ".join(j["name"] for j in jobs))

    def _listed_in(self, what: str, job: str, name: str) -> str:
        rows = self.rows(f"SELECT name FROM {TABLE[what]} WHERE job = ? ORDER BY tick", (job,))
        for row in rows:
            if same_name(row["name"]) == same_name(name):
                return str(row["name"])
        known = ", ".join(row["name"] for row in rows) or _("none yet")
        raise Unheard(what=_(what), text=name, known=known)
