"""Setting a job up: the job, what belongs to it, its limits.

Invariant: nothing here is changed later in place; a limit set again is a new
entry from then on, and work is judged by the limits in force when it was done.
"""

from __future__ import annotations

import os
from datetime import datetime
from fractions import Fraction
from typing import Any

from weldcal.book.core import BookCore, Note, Recorded
from weldcal.errors import NotAChoice, Taken
from weldcal.log import store
from weldcal.quality.goahead import Acceptance
from weldcal.quantities import Quantity
from weldcal.records import job as jobs
from weldcal.records.fields import choose, plain_name, read, same_name
from weldcal.records.limits import DEFAULTS, Limit
from weldcal.records.times import zone
from weldcal.tables import rows as row_times
from weldcal.words import _

_TABLE = {
    "area": "areas",
    "sheet": "sheets",
    "machine": "machines",
    "instrument": "instruments",
    "person": "people",
}


class Setup(BookCore):
    """Verbs that set a job up."""

    def new_job(
        self, name: str, *, units: str, zone_name: str, day_begins: int = 0, place: str | None = None,
        by: str | None = None,
    ) -> Recorded:  # fmt: skip
        """Begin a job, making the book where there is none.

        Raises:
            Taken: there is a job of that name.
            NotAChoice: no such time zone or units.
        """
        zone(zone_name)
        record = jobs.Job(
            name=plain_name(_("job"), name), units=choose("units", units), zone=zone_name,
            day_begins=_hour(day_begins), place=place,
        )  # fmt: skip
        if not self.path.exists():
            self._make()
        known = self.rows("SELECT name FROM jobs")
        if any(same_name(row["name"]) == same_name(record.name) for row in known):
            raise Taken(what=_("job"), text=record.name)
        who = by or self._by or self.local("me") or "not named"
        with self.writing(who) as writer:
            job_id = writer.add("job", record, job=None)
            writer.connection.execute("INSERT OR REPLACE INTO local VALUES ('job', ?)", (job_id,))
        self._job_name = record.name
        return Recorded(job_id, record.name)

    def use_job(self, name: str) -> Recorded:
        """Work on that job from now on, on this device."""
        self._job_name = name
        job = self.job
        self.set_local("job", job.id)
        return Recorded(job.id, job.name)

    def me(self, name: str) -> Recorded:
        """Remember who is typing on this device."""
        known = self.person(name)
        self.set_local("me", known)
        return Recorded("", known, self._unlisted_person(known))

    def add(self, kind: str, record: Any, by: str | None = None) -> Recorded:
        """Add a sheet, machine, instrument, person or area to the job.

        Raises:
            Taken: there is one of that name.
        """
        table = _TABLE[kind]
        known = self.rows(f"SELECT name FROM {table} WHERE job = ?", (self.job.id,))
        if any(same_name(row["name"]) == same_name(record.name) for row in known):
            raise Taken(what=_(kind), text=record.name)
        who = by or self._by or self.local("me") or "not named"
        with self.writing(who) as writer:
            return Recorded(writer.add(kind, record, job=self.job.id), record.name)

    def set_limit(self, name: str, value: str, source: str, by: str | None = None) -> Recorded:
        """Adopt an acceptance number from now on.

        Raises:
            NotAChoice: no such limit.
            Unreadable: the value cannot be read.
        """
        if name not in DEFAULTS:
            raise NotAChoice(name=_("limit"), text=name, allowed=", ".join(DEFAULTS))
        seen = self.seen(by, None)
        limit = Limit(
            name=name, value=read(DEFAULTS[name].field, value, self.job.units),
            source=plain_name(_("source"), source), adopted_by=seen.by,
        )  # fmt: skip
        with self.writing(self.typist(seen.by)) as writer:
            return Recorded(writer.add("limit", limit, job=self.job.id), name)

    def limits(self, at_utc: str | None = None) -> dict[str, Limit]:
        """The limits in force at a time (now), defaults where none was adopted."""
        at_utc = at_utc or row_times.utc(self._clock().isoformat())
        found = {
            name: Limit(name=name, value=default.value, source=default.source)
            for name, default in DEFAULTS.items()
        }
        rows = self.rows(
            "SELECT * FROM limits WHERE job = ? AND from_utc <= ? ORDER BY from_utc, tick",
            (self.job.id, at_utc),
        )
        for row in rows:
            value = Quantity(text=row["text"], number=Fraction(row["number"]), unit=row["unit"])
            found[row["name"]] = Limit(
                name=row["name"], value=value, source=row["source"], adopted_by=row["adopted_by"]
            )
        return found

    def acceptance(self, sheet: str, at_utc: str | None = None) -> Acceptance:
        """The limits in force for one sheet, as numbers."""
        limits = self.limits(at_utc)
        judged = self.rows(
            "SELECT judged_by FROM sheets WHERE job = ? AND name = ?", (self.job.id, sheet)
        )
        return Acceptance(
            low_mm=limits["bleed_low"].value.si("mm"), aim_mm=limits["bleed_aim"].value.si("mm"),
            high_mm=limits["bleed_high"].value.si("mm"),
            guard_mm=limits["reading_guard"].value.si("mm"),
            spread_mm=limits["readings_spread"].value.si("mm"),
            readings_least=int(limits["readings_least"].value.number),
            trace_passes=bool(limits["trace_passes"].value.number),
            stands_h=limits["go_ahead_hours"].value.si("h"),
            by_bleed_out=not judged or judged[0]["judged_by"] == "bleed-out",
        )  # fmt: skip

    def _make(self) -> None:
        from weldcal.tables import schema

        # Made beside and moved into place whole: a book is never found half made.
        fresh = self.path.with_name(f"{self.path.name}.{os.urandom(4).hex()}.new")
        connection = store.create(fresh)
        with store.trouble(self.path):
            schema.create(connection)
            connection.close()
        if self.path.exists():
            fresh.unlink()
        else:
            fresh.rename(self.path)

    def _unlisted_person(self, name: str) -> tuple[Note, ...]:
        listed = self.rows("SELECT name FROM people WHERE job = ?", (self.job.id,))
        if any(row["name"] == name for row in listed):
            return ()
        return (
            Note(
                "unlisted", {"what": "person", "name": name, "known": [r["name"] for r in listed]}
            ),
        )


def _hour(hour: int) -> int:
    if not 0 <= hour <= 23:
        raise NotAChoice(name=_("hour the day begins"), text=str(hour), allowed="0 … 23")
    return hour


def hours_since_epoch(at: str) -> float:
    """Hours since 1970, of an ISO time."""
    return datetime.fromisoformat(at).timestamp() / 3600
