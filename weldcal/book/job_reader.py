"""What every query of a job stands on: rows, the job, the present, who is who.

Invariant: nothing is written here.
"""

from __future__ import annotations

import shlex
import sqlite3
from collections.abc import Iterable
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar, cast

from weldcal import settings
from weldcal.book.core import JobRow
from weldcal.book.file import BookFile, Clock
from weldcal.book.writing import LETTERS
from weldcal.errors import (
    Ambiguous,
    Missing,
    NoJob,
    NoneYet,
    NoPerson,
    Unheard,
    Withdrawn,
)
from weldcal.log import store
from weldcal.records.common import Seen
from weldcal.records.fields import plain_name, same_name
from weldcal.records.notes import USUAL_REASONS
from weldcal.records.times import present, read_time, stamp, zone
from weldcal.words import _

R = TypeVar("R")


class JobReader:
    """Reads one job of a book.

    Attributes:
        by: who is typing, where somebody said so.
        job_name: the job asked for; the one used last where none is.
    """

    def __init__(self, file: BookFile, job: str | None = None, by: str | None = None) -> None:
        self._file = file
        self.job_name = job or settings.job_name()
        self.by = by or settings.person()
        self._job_kept: tuple[tuple[int, int, int, str | None], JobRow] | None = None

    @property
    def path(self) -> Path:
        """The book's file."""
        return self._file.path

    @property
    def clock(self) -> Clock:
        """The present, timezone-aware."""
        return self._file.clock

    @property
    def clock_back(self) -> str | None:
        """The latest time recorded on this device, where the clock went back since."""
        return self._file.clock_back

    @property
    def in_snapshot(self) -> bool:
        """Whether one moment is being read."""
        return self._file.in_snapshot

    def use(self, name: str) -> None:
        """Read another job from now on."""
        self.job_name = name

    def reading(self) -> sqlite3.Connection:
        """The connection, for reading.

        Raises:
            NoJob: there is no book yet.
            BookTrouble: it cannot be opened.
        """
        return self._file.reading()

    def snapshot(self) -> AbstractContextManager[sqlite3.Connection]:
        """Everything read within is of one moment, whatever others write meanwhile."""
        return self._file.snapshot()

    def instead(self, copy: sqlite3.Connection, clock: Clock) -> AbstractContextManager[None]:
        """Everything read within comes from a copy, at another present."""
        return self._file.instead(copy, clock)

    def unchanged(self) -> tuple[int, int, int]:
        """The same as long as nobody has written to the book."""
        return self._file.unchanged()

    def rows(self, sql: str, values: Iterable[Any] = ()) -> list[dict[str, Any]]:
        """Rows of a query as dictionaries."""
        connection = self.reading()
        with store.trouble(self.path):
            return [dict(row) for row in connection.execute(sql, tuple(values))]

    def select(self, row: type[R], sql: str, values: Iterable[object] = ()) -> list[R]:
        """Rows of a query, as the struct that names their columns.

        Args:
            row: a TypedDict with the columns of the query, no more and no fewer.
            sql: a SELECT.
            values: what its question marks stand for.
        """
        connection = self.reading()
        with store.trouble(self.path):
            found = [dict(each) for each in connection.execute(sql, tuple(values))]
        return cast("list[R]", found)

    def local(self, name: str) -> str | None:
        """A preference kept on this device only, never evidence."""
        found = self.rows("SELECT value FROM local WHERE name = ?", (name,))
        return found[0]["value"] if found else None

    @property
    def job(self) -> JobRow:
        """The job worked on: the one named, else the last used, else the newest.

        Raises:
            NoJob: there is none.
            Unheard: no job of that name.
        """
        now = (*self.unchanged(), self.job_name)
        if self._job_kept is None or self._job_kept[0] != now:
            self._job_kept = (now, self._job())
        return self._job_kept[1]

    def _job(self) -> JobRow:
        jobs = self.rows(
            "SELECT id, name, units, zone, day_begins, place FROM jobs ORDER BY tick, device"
        )
        if not jobs:
            raise NoJob
        wanted = self.job_name
        if wanted is None:
            used = self.local("job")
            chosen = [job for job in jobs if job["id"] == used] or jobs[-1:]
        else:
            chosen = [
                job for job in jobs if same_name(wanted) in (job["id"], same_name(job["name"]))
            ]
            if not chosen:
                known = ", ".join(job["name"] for job in jobs)
                raise Unheard(what=_("job"), text=wanted, known=known)
        return JobRow(**chosen[-1])

    def now(self) -> datetime:
        """The present, on the job's clock."""
        return self.clock().astimezone(zone(self.job.zone))

    def person(self, given: str | None = None) -> str:
        """Who did it: as given, else who is typing; known people by name or initials.

        Raises:
            NoPerson: nobody was named.
        """
        name = given or self.by or self.local("me")
        if not name:
            raise NoPerson
        for person in self.rows("SELECT name, initials FROM people WHERE job = ?", (self.job.id,)):
            if same_name(name) in (same_name(person["name"]), same_name(person["initials"] or "")):
                return str(person["name"])
        return plain_name(_("person"), name)

    def unnamed(self, given: str | None = None) -> str:
        """Who did it, where a name may be left out."""
        try:
            return self.person(given)
        except NoPerson:
            return "not named"

    def typist(self, seen_by: str) -> str:
        """Who is typing, where known; else who saw it."""
        name = self.by or self.local("me")
        return self.person(name) if name else seen_by

    def seen(self, by: str | None, at: str | None, instrument: str | None = None) -> Seen:
        """Who saw it and when; `at` as typed, now if not given."""
        now = self.now() if at else present(self.now())
        moment = read_time(at, now, _("time")) if at else now
        return Seen(at=stamp(moment), by=self.person(by), instrument=instrument)

    def find(self, name: str) -> dict[str, Any]:
        """The row of a short name (S7, F3; `S7.4c` where two devices gave it), with `table`.

        Raises:
            Unheard, Ambiguous: with what is known.
        """
        wanted, _dot, device = name.strip().partition(".")
        letter = wanted[:1].upper()
        if letter not in LETTERS:
            raise Unheard(what=_("record"), text=name, known=", ".join(f"{x}1…" for x in LETTERS))
        table, what = LETTERS[letter]
        found = self.rows(
            f"SELECT * FROM {table} WHERE job = ? AND upper(name) = upper(?) AND device LIKE ?",
            (self.job.id, wanted, device + "%"),
        )
        if not found:
            self._refuse_withdrawn(name, table)
            last = self.rows(
                f"SELECT name FROM {table} WHERE job = ? ORDER BY tick DESC, device DESC LIMIT 5",
                (self.job.id,),
            )
            known = ", ".join(row["name"] for row in last) or _("none yet")
            raise Unheard(what=_(what), text=name, known=known)
        return {**self.only_one(found, what, name), "table": table}

    def only_one(self, found: list[dict[str, Any]], what: str, name: str) -> dict[str, Any]:
        """The one row of a short name.

        Raises:
            Ambiguous: two devices gave it.
        """
        if len(found) > 1:
            known = ", ".join(f"{row['name']}.{row['device'][:4]}" for row in found)
            raise Ambiguous(what=_(what), text=name, known=known)
        return found[0]

    def names_in(self, table: str) -> list[str]:
        """Names of a table's things on this job, the first listed first; of jobs, all."""
        if table == "jobs":
            rows = self.rows("SELECT name FROM jobs ORDER BY tick, device")
        else:
            rows = self.rows(
                f"SELECT name FROM {table} WHERE job = ? ORDER BY tick, device", (self.job.id,)
            )
        return [row["name"] for row in rows]

    def _refuse_withdrawn(self, name: str, table: str) -> None:
        """Say so where a record of that name was taken back.

        Raises:
            Withdrawn: with who, why and how to put it back.
        """
        wanted, _dot, device = name.strip().partition(".")
        for row in self.rows(
            "SELECT withdrawn_by, why FROM withdrawn WHERE job = ? AND was_in = ? "
            "AND upper(name) = upper(?) AND device LIKE ?",
            (self.job.id, table, wanted, device + "%"),
        ):
            why = _(row["why"]) if row["why"] in USUAL_REASONS else row["why"]
            raise Withdrawn(text=name, by=row["withdrawn_by"], why=why)

    def listed(self, table: str, given: str | None, what: str) -> tuple[str, bool]:
        """The name of a machine, sheet ... as listed, and whether it is.

        Not given: the only one, where there is only one.

        Raises:
            NoneYet, Missing: not given, and none is listed, or several.
        """
        names = self.names_in(table)
        if given is None:
            if len(names) == 1:
                return names[0], True
            thing = table.removesuffix("s")
            if not names:
                raise NoneYet(
                    what=what, then=_("List one; how: weldcal {thing} add --help", thing=thing)
                )
            shown = ", ".join(f"--{thing} {shlex.quote(name)}" for name in names[:6])
            raise Missing(name=what, option=f"--{thing}", example=shown)
        for name in names:
            if same_name(name) == same_name(given):
                return name, True
        return plain_name(what, given), False
