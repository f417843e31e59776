"""Things that outlive a job: which machine, sheet, instrument or person here is which there.

Invariant: nothing is recorded by using a name again; what is said of two things is an
entry, and the last word on them counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from weldcal.book import device
from weldcal.book.kept import JobCache
from weldcal.errors import Unheard
from weldcal.log import store
from weldcal.records.fields import same_name
from weldcal.row_types.listed import JobRow, SameRow
from weldcal.rules.same_thing import Key, NamedThing, SaidSame, one_thing
from weldcal.views.passport import CalledOnJob
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


TABLE = {"machine": "machines", "sheet": "sheets", "instrument": "instruments", "person": "people"}


class _Listed(TypedDict):
    """A thing that a job lists, with the device on which the job was begun."""

    job: str
    name: str
    device: str


class _CalledRow(TypedDict):
    """A thing that a job lists, with the job's name."""

    job: str
    job_name: str
    name: str


class Firm:
    """Machines, sheets, instruments and people that outlive a job."""

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader
        self._grouped: JobCache[dict[Key, int]] = JobCache(reader)

    def groups(self, what: str) -> dict[Key, int]:
        """The number of its group for each (job, folded name) of a kind of thing.

        Args:
            what: machine, sheet, instrument or person.
        """
        return self._grouped.get(what, lambda: self._group(what))

    def _group(self, what: str) -> dict[Key, int]:
        connection = self._reader.reading()
        with store.trouble(self._reader.path):
            here = device.all_here(connection)
        rows = self._reader.select(
            _Listed,
            f"SELECT t.job, t.name, j.device FROM {TABLE[what]} t JOIN jobs j ON j.id = t.job "
            "ORDER BY j.tick, j.device, t.tick, t.id",
        )
        things = [
            NamedThing((r["job"], same_name(r["name"])), "" if r["device"] in here else r["device"])
            for r in rows
        ]
        sames = self._reader.select(
            SameRow, "SELECT * FROM sames WHERE what = ? ORDER BY tick, device, id", (what,)
        )
        statements = [
            SaidSame((r["one_job"], r["one"]), (r["other_job"], r["other"]), bool(r["same"]))
            for r in sames
        ]
        return one_thing(list({t.key: t for t in things}.values()), statements)

    def everywhere(self, what: str, name: str) -> list[CalledOnJob]:
        """A thing of this job, as every job it was on calls it, this one among them; in order.

        A name that this job does not list is of this job alone.

        Args:
            what: machine, sheet, instrument or person.
            name: as this job lists it.
        """
        here = CalledOnJob(self._reader.job.id, self._reader.job.name, name)
        groups = self.groups(what)
        mine = groups.get((self._reader.job.id, same_name(name)))
        if mine is None:
            return [here]
        return [c for c in self.called(what) if groups[c.job, same_name(c.name)] == mine]

    def called(self, what: str) -> list[CalledOnJob]:
        """Everything of a kind that any job lists, by jobs in the order they began.

        Args:
            what: machine, sheet, instrument or person.
        """
        rows = self._reader.select(
            _CalledRow,
            f"SELECT t.job, j.name AS job_name, t.name FROM {TABLE[what]} t "
            "JOIN jobs j ON j.id = t.job ORDER BY j.tick, j.device, t.tick, t.id",
        )
        return [CalledOnJob(row["job"], row["job_name"], row["name"]) for row in rows]

    def other_job(self, name: str) -> JobRow:
        """The row of another job.

        Args:
            name: its name, as typed.

        Raises:
            Unheard: no job has that name.
        """
        jobs = self._reader.select(JobRow, "SELECT * FROM jobs ORDER BY tick, device")
        for job in jobs:
            if same_name(job["name"]) == same_name(name):
                return job
        raise Unheard(what=_("job"), text=name, known=", ".join(j["name"] for j in jobs))

    def listed_in(self, what: str, job: str, name: str) -> str:
        """The name under which a job lists a thing.

        Args:
            what: machine, sheet, instrument or person.
            job: its id.
            name: as typed.

        Raises:
            Unheard: it lists none of that name.
        """
        names = self._reader.column(
            str, f"SELECT name FROM {TABLE[what]} WHERE job = ? ORDER BY tick, device", (job,)
        )
        for one in names:
            if same_name(one) == same_name(name):
                return one
        known = ", ".join(names) or _("none yet")
        raise Unheard(what=_(what), text=name, known=known)
