"""What every query of a job needs: rows, the job, the present, who is who.

Invariant: nothing is written here.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TypeVar

from msgspec import convert

from weldcal import errors, settings
from weldcal.book.core import CurrentJob, Named
from weldcal.book.file import BookFile
from weldcal.book.open_book import OpenBook
from weldcal.book.writing import LETTERS
from weldcal.records.common import Seen
from weldcal.records.fields import plain_name, same_name
from weldcal.records.notes import USUAL_REASONS
from weldcal.records.times import present, read_time, stamp, zone
from weldcal.row_types import table_of
from weldcal.row_types.listed import JobRow as JobColumns
from weldcal.row_types.listed import PersonRow
from weldcal.words import _

# The one order of what was seen, and that in which things were listed.
AS_SEEN = "ORDER BY seen_utc, tick, device"
AS_LISTED = "ORDER BY tick, device"
NEWEST = "ORDER BY seen_utc DESC, tick DESC, device DESC"

R = TypeVar("R")
V = TypeVar("V", str, int, float)
N = TypeVar("N", bound=Named)


class NamedRecord(Named):
    """A record by its short name, and the table it is in."""

    table: str


class JobReader(OpenBook):
    """Reads one job of a book.

    Attributes:
        by: who is typing, where somebody said so.
        job_name: the job asked for; the one used last where none is.
    """

    def __init__(self, file: BookFile, job: str | None = None, by: str | None = None) -> None:
        super().__init__(file)
        self.job_name = job or settings.job_name()
        self.by = by or settings.person()
        self._job_kept: tuple[tuple[int, int, int, str | None], CurrentJob] | None = None

    def local(self, name: str) -> str | None:
        """A preference kept on this device only, never evidence.

        Args:
            name: of the preference.

        Returns:
            Its text; None where none was kept.
        """
        values = self.column(str, "SELECT value FROM local WHERE name = ?", (name,))
        return values[0] if values else None

    @property
    def job(self) -> CurrentJob:
        """The job worked on: the one named, else the last used, else the newest.

        Raises:
            NoJob: there is none.
            Unheard: no job of that name.
        """
        now = (*self.unchanged(), self.job_name)
        if self._job_kept is None or self._job_kept[0] != now:
            self._job_kept = (now, self._job(self.job_name))
        return self._job_kept[1]

    def job_to_type(self) -> str | None:
        """What `--job` must say for a command typed in another window to be of this job; None
        where one without it would be, or there is no job yet."""
        try:
            own = self._job(None)
        except errors.NoJob:
            return None
        if own.id == self.job.id:
            return None
        return self.job.name if self._job(self.job.name).id == self.job.id else self.job.id

    def _job(self, wanted: str | None) -> CurrentJob:
        jobs = self.select(JobColumns, f"SELECT * FROM jobs {AS_LISTED}")
        if not jobs:
            raise errors.NoJob
        if wanted is None:
            used = self.local("job")
            chosen = [job for job in jobs if job["id"] == used] or jobs[-1:]
        else:
            name = same_name(wanted)
            chosen = [job for job in jobs if name in (job["id"], same_name(job["name"]))]
            if not chosen:
                known = ", ".join(job["name"] for job in jobs)
                raise errors.Unheard(what=_("job"), text=wanted, known=known)
        return convert(chosen[-1], CurrentJob)

    def now(self) -> datetime:
        """The present, on the job's clock."""
        return self.clock().astimezone(zone(self.job.zone))

    def person(self, given: str | None = None) -> str:
        """Who did it: as given, else who is typing; known people by name or initials.

        Args:
            given: a name or initials, as typed.

        Raises:
            NoPerson: nobody was named.
            SeveralPeople: by initials that more than one of them has.
        """
        name = given or self.by or self.local("me")
        if not name:
            raise errors.NoPerson
        people = {same_name(person["name"]): person for person in reversed(self.of_job(PersonRow))}
        if same_name(name) in people:
            return people[same_name(name)]["name"]
        meant = [
            p["name"] for p in people.values() if same_name(p["initials"] or "") == same_name(name)
        ]
        if len(meant) > 1:
            raise errors.SeveralPeople(text=name, known=", ".join(reversed(meant)))
        return meant[0] if meant else plain_name(_("person"), name)

    def unnamed(self, given: str | None = None) -> str:
        """Who did it, where a name may be left out.

        Args:
            given: a name or initials, as typed.

        Returns:
            The name; "not named" where nobody is known to be typing.
        """
        try:
            return self.person(given)
        except errors.NoPerson:
            return "not named"

    def typist(self, seen_by: str) -> str:
        """Who is typing, where known; else who saw it.

        Args:
            seen_by: the name of who saw it.
        """
        name = self.by or self.local("me")
        return self.person(name) if name else seen_by

    def seen(self, by: str | None, at: str | None, instrument: str | None = None) -> Seen:
        """Who saw it and when.

        Args:
            by: a name or initials, as typed; who is typing, where not given.
            at: a time, as typed; now, where not given.
            instrument: read with this one.

        Raises:
            NoPerson: nobody was named.
        """
        now = self.now() if at else present(self.now())
        moment = read_time(at, now, _("time")) if at else now
        return Seen(at=stamp(moment), by=self.person(by), instrument=instrument)

    def find(self, name: str) -> NamedRecord:
        """What a short name is the name of.

        Args:
            name: as typed: S7, F3; `S7.4c` where two devices gave it.

        Raises:
            Unheard, Ambiguous: with what is known.
            Withdrawn: it was taken back.
        """
        wanted, _dot, device = name.strip().partition(".")
        letter = wanted[:1].upper()
        if letter not in LETTERS:
            raise errors.Unheard(
                what=_("record"), text=name, known=", ".join(f"{x}1…" for x in LETTERS)
            )
        table, what = LETTERS[letter]
        records = self.select(
            Named,
            f"SELECT id, name FROM {table} WHERE job = ? AND upper(name) = upper(?) AND device LIKE ?",
            (self.job.id, wanted, device + "%"),
        )
        if not records:
            self._refuse_withdrawn(name, table, wanted, device)
            last = self.column(
                str,
                f"SELECT name FROM {table} WHERE job = ? ORDER BY tick DESC, device DESC LIMIT 5",
                (self.job.id,),
            )
            raise errors.Unheard(what=_(what), text=name, known=", ".join(last) or _("none yet"))
        one = self.only_one(records, what, name)
        return {"id": one["id"], "name": one["name"], "table": table}

    def find_in(self, row: type[R], name: str, why: str) -> R:
        """The whole row of a short name.

        Args:
            row: of the only table in which it may be.
            name: as typed, like S7.
            why: no other table's name will do.

        Raises:
            Unheard, Withdrawn, Ambiguous: as `find`.
            Misplaced: the name is of another table.
        """
        record = self.find(name)
        if record["table"] != table_of(row):
            raise errors.Misplaced(text=name, why=why)
        return self.by_id(row, record["id"])

    def by_id(self, row: type[R], id: str) -> R:
        """The whole row of an id.

        Args:
            row: of the table in which it is.
            id: of the entry that the row is of.
        """
        return self.select(row, f"SELECT * FROM {table_of(row)} WHERE id = ?", (id,))[0]

    def of_ids(self, row: type[R], ids: Sequence[str], column: str = "id") -> list[R]:
        """The whole rows of some ids.

        Args:
            row: of the table in which they are.
            ids: of the entries that the rows are of.
            column: in which the ids are.
        """
        query = f"SELECT * FROM {table_of(row)} WHERE {column} IN ({', '.join('?' * len(ids))})"
        return self.select(row, query, ids)

    def of_job(self, row: type[R], rest: str = "", *values: object) -> list[R]:
        """Whole rows of this job.

        Args:
            row: of the table in which they are.
            rest: of the query: which of them, and their order.
            values: what its question marks stand for.
        """
        query = f"SELECT * FROM {table_of(row)} WHERE job = ? {rest}"
        return self.select(row, query, (self.job.id, *values))

    def part(self, row: type[R], table: str, rest: str = "", *values: object) -> list[R]:
        """Rows of this job, with as many of their columns as a struct names.

        Args:
            row: a TypedDict with some columns of the table.
            table: in which they are.
            rest: of the query: which of them, and their order.
            values: what its question marks stand for.
        """
        query = f"SELECT {', '.join(row.__annotations__)} FROM {table} WHERE job = ? {rest}"
        return self.select(row, query, (self.job.id, *values))

    def each_of(
        self, kind: type[V], what: str, table: str, rest: str = "", *values: object
    ) -> list[V]:
        """One value of every row of this job.

        Args:
            kind: of the value: str, int or float; never empty.
            what: the column, or what is reckoned of the columns.
            table: in which the rows are.
            rest: of the query: which of them, and their order.
            values: what its question marks stand for.
        """
        query = f"SELECT {what} FROM {table} WHERE job = ? {rest}"
        return self.column(kind, query, (self.job.id, *values))

    def only_one(self, rows: list[N], what: str, name: str) -> N:
        """The one row of a short name.

        Args:
            rows: what it may mean.
            what: what people call the thing.
            name: as typed.

        Raises:
            Ambiguous: two devices gave it.
        """
        if len(rows) > 1:
            known = ", ".join(row["name"] for row in rows)
            raise errors.Ambiguous(what=_(what), text=name, known=known)
        return rows[0]

    def names_in(self, table: str) -> list[str]:
        """Names of a table's things on this job, the first listed first; of jobs, all.

        Args:
            table: jobs, machines, sheets, seams ...
        """
        if table == "jobs":
            return self.column(str, f"SELECT name FROM jobs {AS_LISTED}")
        query = f"SELECT name FROM {table} WHERE job = ? {AS_LISTED}"
        return self.column(str, query, (self.job.id,))

    def _refuse_withdrawn(self, name: str, table: str, wanted: str, device: str) -> None:
        """Say so where a record of that name was taken back.

        Raises:
            Withdrawn: with who, why and how to put it back.
        """
        from weldcal.row_types.record import WithdrawnRow  # for a refusal only

        which = "AND was_in = ? AND upper(name) = upper(?) AND device LIKE ?"
        for row in self.of_job(WithdrawnRow, which, table, wanted, device + "%"):
            why = _(row["why"]) if row["why"] in USUAL_REASONS else row["why"]
            raise errors.Withdrawn(text=name, by=row["withdrawn_by"], why=why)

    def listed(self, table: str, given: str | None, what: str) -> tuple[str, bool]:
        """The name of a machine, sheet ... as listed, and whether it is.

        Args:
            table: machines, sheets ...
            given: as typed; the only one listed, where not given.
            what: what people call the thing.

        Raises:
            NoneYet, Missing: not given, and none is listed, or several.
        """
        names = self.names_in(table)
        if given is None:
            if len(names) == 1:
                return names[0], True
            thing = table.removesuffix("s")
            if not names:
                how = _("List one; how: weldcal {thing} add --help", thing=thing)
                raise errors.NoneYet(what=what, then=how)
            import shlex  # for a refusal only

            shown = ", ".join(f"--{thing} {shlex.quote(name)}" for name in names[:6])
            raise errors.Missing(name=what, option=f"--{thing}", example=shown)
        for name in names:
            if same_name(name) == same_name(given):
                return name, True
        return plain_name(what, given), False
