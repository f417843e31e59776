"""Setting a job up: the job, what belongs to it, its limits.

Invariant: nothing here is changed later in place; a limit set again is a new
entry from then on, and work is judged by the limits in force when it was done.
"""

from __future__ import annotations

import os
import sqlite3
from bisect import bisect_right
from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from weldcal.book.core import Note, Recorded
from weldcal.book.machines import Machines
from weldcal.errors import BookUnwritable, NoPerson, NotABook, NotAChoice, Taken, reason
from weldcal.log import store
from weldcal.quality.goahead import Acceptance
from weldcal.quantities import Quantity
from weldcal.records import job as jobs
from weldcal.records.fields import choose, plain_name, read, same_name
from weldcal.records.limits import DEFAULTS, Default, Limit
from weldcal.rules.cold import cold_from
from weldcal.rules.tolerance import Tolerances
from weldcal.tables.columns import utc
from weldcal.words import _

_TABLE = {
    "area": "areas",
    "sheet": "sheets",
    "machine": "machines",
    "instrument": "instruments",
    "person": "people",
}


class Setup(Machines):
    """Verbs that set a job up."""

    _accepted: tuple[tuple[Any, ...], list[str], dict[tuple[int, str], Acceptance]] | None = None

    def new_job(
        self,
        name: str,
        *,
        units: str,
        zone_name: str,
        day_begins: int = 0,
        place: str | None = None,
        parts: Sequence[tuple[str, Any]] = (),
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
        if limits and not (by or self._by):
            raise NoPerson
        record = jobs.Job(
            name=plain_name(_("job"), name),
            units=choose("units", units),
            zone=zone_name,
            day_begins=day_begins,
            place=place,
        )
        who = plain_name(_("person"), by or self._by or "not named")
        adopted = [_limit(*limit, record.units, who) for limit in limits]
        _refuse_twice(parts)
        if not self.path.exists():
            self._make()
        known = self.rows("SELECT name FROM jobs")
        if any(same_name(row["name"]) == same_name(record.name) for row in known):
            raise Taken(what=_("job"), text=record.name)
        with self.writing(who, zone_name) as writer:
            job_id = writer.add("job", record, job=None)
            for kind, part in [*parts, *(("limit", limit) for limit in adopted)]:
                writer.add(kind, part, job=job_id)
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
        listed = self._names("people")
        if listed and known not in listed:
            note = Note("unlisted", {"what": "person", "name": known, "known": listed})
            return Recorded("", known, (note,))
        return Recorded("", known)

    def add(self, kind: str, record: Any, by: str | None = None) -> Recorded:
        """Add a sheet, machine, instrument, person or area to the job.

        Raises:
            Taken: there is one of that name.
        """
        table = _TABLE[kind]
        known = self.rows(f"SELECT name FROM {table} WHERE job = ?", (self.job.id,))
        if any(same_name(row["name"]) == same_name(record.name) for row in known):
            raise Taken(what=_(kind), text=record.name)
        with self.writing(self.unnamed(by)) as writer:
            return Recorded(writer.add(kind, record, job=self.job.id), record.name)

    def set_limit(self, name: str, value: str, source: str, by: str | None = None) -> Recorded:
        """Adopt an acceptance number from now on.

        Raises:
            NotAChoice: no such limit.
            Unreadable: the value cannot be read.
            NoPerson: nobody is named; a number that decides needs a person.
        """
        who = self.person(by)
        limit = _limit(name, value, source, self.job.units, who)
        with self.writing(self.typist(who)) as writer:
            return Recorded(writer.add("limit", limit, job=self.job.id), name)

    def limits(self, at_utc: str | None = None) -> dict[str, Limit]:
        """The limits in force at a time (now), defaults where none was adopted."""
        at_utc = at_utc or utc(self._clock().isoformat())
        found = {
            name: Limit(name=name, value=default.value, source=default.source)
            for name, default in limit_defaults().items()
        }
        rows = self.rows(
            "SELECT * FROM limits WHERE job = ? AND from_utc <= ? ORDER BY from_utc, tick",
            (self.job.id, at_utc),
        )
        for row in rows:
            if row["name"] not in found:  # a newer program's
                continue
            value = Quantity(text=row["text"], number=Fraction(row["number"]), unit=row["unit"])
            found[row["name"]] = Limit(
                name=row["name"], value=value, source=row["source"], adopted_by=row["adopted_by"]
            )
        return found

    def tolerances(self) -> Tolerances:
        """How near two places along a lap count as one, m, and counted as one at any time."""
        changed = list(dict.fromkeys(self._acceptances()[0]))
        when = ["0", *changed]
        return Tolerances(tuple(changed), tuple(self.acceptance("", at).slack_m for at in when))

    def acceptance(self, sheet: str, at_utc: str | None = None) -> Acceptance:
        """The limits in force for one sheet, as numbers."""
        at_utc = at_utc or utc(self._clock().isoformat())
        changed, kept = self._acceptances()
        key = bisect_right(changed, at_utc), sheet
        if key not in kept:
            kept[key] = self._acceptance(sheet, at_utc)
        return kept[key]

    def with_cold(self, rows: list[dict[str, Any]], welded: str) -> list[dict[str, Any]]:
        """Rows of runs or mends, each given `cold_utc`: from when its lap counts as cold.

        Args:
            welded: the column that says when it was welded, UTC.
        """
        for row in rows:
            at = row[welded]
            cool = self.acceptance("", at).cool_before_probe_min if at else 0.0
            row["cold_utc"] = cold_from(at, cool) if at else None
        return rows

    def needs_readings(self, sheet: str) -> bool:
        """Whether a strip of this sheet is judged by its bleed-out, so that readings must be there."""
        return self.acceptance(sheet).by_bleed_out

    def _acceptances(self) -> tuple[list[str], dict[tuple[int, str], Acceptance]]:
        """When the job's limits changed, and what was made of them since then; anew after a write."""
        changes = (*self.unchanged(), self.job.id)
        if self._accepted is None or self._accepted[0] != changes:
            rows = self.rows(
                "SELECT from_utc FROM limits WHERE job = ? ORDER BY from_utc", (self.job.id,)
            )
            self._accepted = (changes, [row["from_utc"] for row in rows], {})
        return self._accepted[1], self._accepted[2]

    def _acceptance(self, sheet: str, at_utc: str) -> Acceptance:
        limits = self.limits(at_utc)
        judged = self.rows(
            "SELECT judged_by FROM sheets WHERE job = ? AND name = ?", (self.job.id, sheet)
        )
        return Acceptance(
            low_mm=limits["bleed_low"].value.si("mm"),
            aim_mm=limits["bleed_aim"].value.si("mm"),
            high_mm=limits["bleed_high"].value.si("mm"),
            guard_mm=limits["reading_guard"].value.si("mm"),
            spread_mm=limits["readings_spread"].value.si("mm"),
            readings_least=int(limits["readings_least"].value.number),
            trace_passes=bool(limits["trace_passes"].value.number),
            by_bleed_out=not judged or judged[0]["judged_by"] == "bleed-out",
            bonded_least_mm=limits["bonded_least"].value.si("mm"),
            cool_least_min=limits["cool_least"].value.si("min"),
            lap_least_side_mm=limits["lap_least_side"].value.si("mm"),
            lap_least_end_mm=limits["lap_least_end"].value.si("mm"),
            cool_before_probe_min=limits["cool_before_probe"].value.si("min"),
            slack_m=limits["site_tolerance"].value.si("m"),
        )

    def _make(self) -> None:
        from weldcal.tables import schema

        if self.path.is_symlink():
            raise NotABook(file=self.path, why=_("it is a link to nowhere"))
        # Made beside and moved into place whole: a book is never found half made.
        fresh = self.path.with_name(f"{self.path.name}.{os.urandom(4).hex()}.new")
        try:
            connection = self._new_file(fresh)
            with store.trouble(self.path):
                schema.create(connection)
                connection.close()
        except BaseException:
            with suppress(OSError):  # where its folder is none, there is no file either
                fresh.unlink(missing_ok=True)
            raise
        try:
            if not self.path.exists():
                fresh.rename(self.path)
        except OSError as error:
            raise BookUnwritable(file=self.path, why=reason(error)) from None
        finally:
            fresh.unlink(missing_ok=True)

    def _new_file(self, fresh: Path) -> sqlite3.Connection:
        try:
            return store.create(fresh)
        except BookUnwritable as error:  # nobody typed the name of the file beside
            raise BookUnwritable(file=self.path, why=error.values["why"]) from None


@cache
def limit_defaults() -> dict[str, Default]:
    """All limits with their defaults: acceptance, and the rules of the go-ahead."""
    from weldcal.book.rules import rule_defaults

    return {**DEFAULTS, **rule_defaults()}


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


def _refuse_twice(parts: Sequence[tuple[str, Any]]) -> None:
    seen = set()
    for kind, record in parts:
        key = kind, same_name(record.name)
        if key in seen:
            raise Taken(what=_(kind), text=record.name)
        seen.add(key)
