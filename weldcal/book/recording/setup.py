"""Setting a job up: the job, what belongs to it, its limits.

Invariant: nothing here is changed later in place; a limit set again is a new
entry from then on, and work is judged by the limits in force when it was done.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.limits import limit_defaults
from weldcal.errors import NameTaken, NoPerson, NotAChoice
from weldcal.records import job as jobs
from weldcal.records.fields import choose, plain_name, read, same_name
from weldcal.records.limits import Limit
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.marks import Marking
    from weldcal.book.preferences import Preferences
    from weldcal.book.recording.transactions import Transactions


_TABLE = {
    "area": "areas",
    "sheet": "sheets",
    "machine": "machines",
    "instrument": "instruments",
    "person": "people",
}


Listed = jobs.Area | jobs.Sheet | jobs.Machine | jobs.Instrument | jobs.Person


class Setup(Service):
    """Makes jobs, lists what belongs to them, adopts limits."""

    _reader: JobReader
    _transactions: Transactions
    _preferences: Preferences
    _marks: Marking

    def new_job(
        self,
        name: str,
        *,
        units: str,
        zone_name: str,
        day_begins: int = 0,
        place: str | None = None,
        parts: Sequence[tuple[str, Listed]] = (),
        limits: Sequence[tuple[str, str, str]] = (),
        by: str | None = None,
    ) -> Recorded:
        """Begin a job with what belongs to it, all or nothing; makes the book where there is none.

        Args:
            parts: (kind, record) of areas, sheets, machines, instruments and people.
            limits: (name, value as typed, source).

        Raises:
            Taken: there is a job of that name, or two parts of one name.
            NotAChoice: no such time zone, units or limit.
            NoPerson: limits are adopted, and nobody is named; a number that decides needs a person.
        """
        if limits and not (by or self._reader.by):
            raise NoPerson
        record = jobs.Job(
            name=plain_name(_("job"), name),
            units=choose("units", units),
            zone=zone_name,
            day_begins=day_begins,
            place=place,
        )
        who = plain_name(_("person"), by or self._reader.by or "not named")
        adopted = [_limit(*limit, record.units, who) for limit in limits]
        _refuse_twice(parts)
        if not self._reader.path.exists():
            self._transactions.make()
        if same_name(record.name) in map(same_name, self._reader.names_in("jobs")):
            raise NameTaken(what=_("job"), text=record.name)
        with self._transactions.writing(who, zone_name) as writer:
            writer.job = job_id = writer.add("job", record)
            for kind, part in [*parts, *(("limit", limit) for limit in adopted)]:
                writer.add(kind, part)
            writer.connection.execute("INSERT OR REPLACE INTO local VALUES ('job', ?)", (job_id,))
        self._reader.job_name = record.name
        return Recorded(job_id, record.name)

    def use_job(self, name: str) -> Recorded:
        """Work on that job from now on, on this device.

        Args:
            name: of the job.
        """
        self._reader.job_name = name
        job = self._reader.job
        self._preferences.keep("job", job.id)
        return Recorded(job.id, job.name)

    def me(self, name: str) -> Recorded:
        """Remember who is typing on this device.

        Args:
            name: of the person.
        """
        person = self._reader.person(name)
        self._preferences.keep("me", person)
        listed = self._reader.names_in("people")
        if listed and person not in listed:
            note = Note("unlisted", {"what": "person", "name": person, "known": listed})
            return Recorded("", person, (note,))
        return Recorded("", person)

    def add(self, kind: str, record: Listed, by: str | None = None) -> Recorded:
        """Add a sheet, machine, instrument, person or area to the job.

        Args:
            kind: area, sheet, machine, instrument or person.
            record: as typed.
            by: who; who is typing, where not given.

        Raises:
            Taken: there is one of that name.
        """
        table = _TABLE[kind]
        if same_name(record.name) in map(same_name, self._reader.names_in(table)):
            raise NameTaken(what=_(kind), text=record.name)
        with self._transactions.writing(self._reader.unnamed(by)) as writer:
            return Recorded(writer.add(kind, record), record.name)

    def set_limit(self, name: str, value: str, source: str, by: str | None = None) -> Recorded:
        """Adopt an acceptance number from now on.

        Args:
            name: of the limit.
            value: as typed.
            source: where it comes from.
            by: who; who is typing, where not given.

        Raises:
            NotAChoice: no such limit.
            Unreadable: the value cannot be read.
            NoPerson: nobody is named; a number that decides needs a person.
        """
        who = self._reader.person(by)
        limit = _limit(name, value, source, self._reader.job.units, who)
        with self._transactions.writing(self._reader.typist(who)) as writer:
            return Recorded(writer.add("limit", limit), name)


def _limit(name: str, value: str, source: str, units: str, by: str) -> Limit:
    defaults = limit_defaults()
    if name not in defaults:
        raise NotAChoice(name=_("limit"), text=name, allowed=", ".join(defaults))
    return Limit(
        name=name,
        value=read(defaults[name].field, value, units),
        source=plain_name(_("source"), source),
        adopted_by=by,
    )


def _refuse_twice(parts: Sequence[tuple[str, Listed]]) -> None:
    seen = set()
    for kind, record in parts:
        key = kind, same_name(record.name)
        if key in seen:
            raise NameTaken(what=_(kind), text=record.name)
        seen.add(key)
