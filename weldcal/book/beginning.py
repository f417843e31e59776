"""How a day begins: the job, the present, who is there.

Invariant: the first question of a day is asked with this alone.
"""

from __future__ import annotations

import contextlib
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from weldcal import settings
from weldcal.book import device
from weldcal.book.core import Note, Service
from weldcal.book.job_reader import AS_LISTED
from weldcal.errors import BookUnwritable, NoJob, NoPerson, NotAChoice
from weldcal.records.day import Day, ListedPerson
from weldcal.records.draft import ROLES
from weldcal.records.times import stamp, zone
from weldcal.row_types.listed import PersonRow
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.preferences import Preferences


class Beginning(Service):
    """How a day begins."""

    _reader: JobReader
    _preferences: Preferences

    def day(self) -> Day:
        """The day as it begins: job, clock, people. All that the first question needs."""
        job, now = self._reader.job, self._reader.now()
        people = self._reader.of_job(PersonRow, AS_LISTED)
        try:
            typist = self._reader.person()
        except NoPerson:
            typist = None
        return Day(
            now=stamp(now),
            date=(now - timedelta(hours=job.day_begins)).date().isoformat(),
            tick=self._reader.column(int, "SELECT coalesce(max(tick), 0) FROM entries")[0],
            job=job.name,
            units=job.units,
            zone=job.zone,
            typist=typist,
            people=tuple(
                ListedPerson(row["name"], _role(row["role"]), row["initials"]) for row in people
            ),
        )

    def clock(self) -> datetime:
        """The present; on the job's clock where there is a job."""
        try:
            return self._reader.now()
        except NoJob:
            return self._reader.clock().astimezone()

    def clock_notes(self) -> tuple[Note, ...]:
        """Notes on this device's clock: it went back; its zone is not the job's (noted once)."""
        notes = []
        mine, now, device_zone = (
            self._reader.local("device"),
            self._reader.now(),
            settings.local_zone(),
        )
        last = device.clock_back(self._reader.reading(), mine, now) if mine else None
        if last:
            notes.append(Note("clock_back", {"at": last}))
        job_and_zone = f"{self._reader.job.id} {device_zone}"
        if _apart(now, device_zone) and self._reader.local("zone_told") != job_and_zone:
            notes.append(
                Note(
                    "zone_apart",
                    {"here": device_zone, "zone": self._reader.job.zone, "now": stamp(now)},
                )
            )
            with contextlib.suppress(BookUnwritable):  # a read-only book gets the note again
                self._preferences.keep("zone_told", job_and_zone)
        return tuple(notes)


def _apart(now: datetime, zone_name: str) -> bool:
    """Whether a clock in zone `zone_name` shows another time than `now` does."""
    try:
        return now.astimezone(zone(zone_name)).utcoffset() != now.utcoffset()
    except NotAChoice:  # the machine names a zone nobody knows
        return False


def _role(text: str | None) -> str | None:
    """Which of the roles somebody's listed one is: `QA inspector` is an inspector."""
    listed = (text or "").casefold()
    return next((role for role in ROLES if role in listed or _(role).casefold() in listed), None)
