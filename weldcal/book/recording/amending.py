"""Corrections, and what was done about warnings.

Invariant: a correction is an entry of its own with its reason, and the earlier
value stays readable.
"""

from __future__ import annotations

import contextlib
import copy
from typing import TYPE_CHECKING

from weldcal.book.core import Note, Recorded, Service
from weldcal.book.job_reader import NamedRecord
from weldcal.book.roof import KIND_OF
from weldcal.book.sunlit import site_of
from weldcal.errors import Misplaced, NotAChoice, Unheard
from weldcal.intake.line import split_values
from weldcal.json_values import JsonValue
from weldcal.records.amendable import ValueAt, place_of, read_payload
from weldcal.records.codec import decode, encode
from weldcal.records.common import Conditions
from weldcal.records.fields import plain_name, read, same_name
from weldcal.records.notes import PLACE_SAID, Amend, Settle
from weldcal.records.seam import RunStart
from weldcal.records.strip import Strip
from weldcal.records.times import read_beside, stamp
from weldcal.rules.power_said import power_said
from weldcal.tables.fold import Subject
from weldcal.tables.projector import subject_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader, NamedRecord
    from weldcal.book.recording.transactions import Transactions
    from weldcal.book.roof import SeamStates
    from weldcal.book.slips import Slips


class Amending(Service):
    """Corrects what was recorded, and settles warnings and conflicts."""

    _reader: JobReader
    _transactions: Transactions
    _roof: SeamStates
    _slips: Slips

    def amend(
        self,
        name: str,
        field: str,
        value: str,
        why: str,
        *,
        by: str | None = None,
        at: str | None = None,
    ) -> Recorded:
        """Correct one value of a record, with its reason.

        Args:
            name: short name of a record, or of a seam.
            field: which value.
            value: the new one, as typed.
            why: the reason.
            by: who; who is typing, where not given.
            at: when, as typed; now, where not given.

        Raises:
            NotAChoice: it has no such field.
            Unreadable: the new value cannot be read, or the reason is empty.
        """
        subject, place, shown = self._meant(name, field)
        reason = plain_name(_("reason (--why)"), why)
        old = self._old_value(subject, place.path)
        new = self._new_value(place, value, old)
        seen = self._reader.seen(by, at)
        record = Amend(
            of=subject.id,
            path=place.path,
            old=old,
            new=new,
            why=reason,
            seen=seen,
            replaces=subject.setter(place.path),
        )
        odd = self._unlikely(place.path, _amended(subject, place.path, new))
        amend_id = self._transactions.record("amend", record, subject.id)
        notes = (*odd, *_of_power(subject, place.path, shown, f"{reason} {new}"))
        return Recorded(amend_id, shown, notes, {"field": field, "old": old, "new": new})

    def unlikely(self, name: str, field: str, value: str) -> tuple[Note, ...]:
        """What in a corrected value is likely a slip of the hand once more.

        Args:
            name: short name of a record, or of a seam.
            field: which value.
            value: the new one, as typed.

        Raises:
            NotAChoice: it has no such field; Unreadable: the new value cannot be read.
        """
        subject, place, _shown = self._meant(name, field)
        new = self._new_value(place, value, self._old_value(subject, place.path))
        return self._unlikely(place.path, _amended(subject, place.path, new))

    def _unlikely(self, path: str, record: object) -> tuple[Note, ...]:
        if isinstance(record, Conditions):
            return self._slips.unlikely(None, record, "")
        if not isinstance(record, Strip | RunStart) or path.partition(".")[0] not in (
            "setting",
            "conditions",
        ):
            return ()
        notes = self._slips.unlikely(record.setting, record.conditions, record.seen.at)
        last = path.rpartition(".")[2]
        return tuple(n for n in notes if n.values.get("name", "speed") == last)

    def _meant(self, name: str, field: str) -> tuple[Subject, ValueAt, str]:
        """The record to correct, the place of its value, and its name."""
        row = self._amendable(name, field)
        subject = subject_of(self._reader.reading(), row["id"])
        if subject is None:
            raise Unheard(what=_("record"), text=name, known="")
        return subject, place_of(KIND_OF[row["table"]], field), row["name"]

    def put_place(self, place: str, why: str | None = None, *, by: str | None = None) -> Recorded:
        """Say where the job is: the sun over the roof is worked out from it.

        The notes say where that is taken to be, or that nobody can tell.

        Args:
            place: in words, or latitude and longitude.
            why: the reason.
            by: who; who is typing, where not given.
        """
        subject = subject_of(self._reader.reading(), self._reader.job.id)
        assert subject is not None
        seen = self._reader.seen(by, None)
        record = Amend(
            of=subject.id,
            path="place",
            old=subject.value("place"),
            new=plain_name(_("place"), place),
            why=plain_name(_("reason (--why)"), why or PLACE_SAID),
            seen=seen,
            replaces=subject.setter("place"),
        )
        amend_id = self._transactions.record("amend", record, subject.id)
        return Recorded(amend_id, self._reader.job.name, self.sun_notes())

    def sun_notes(self) -> tuple[Note, ...]:
        """A note of the place used for the sun; none where no place is written."""
        if self._reader.job.place is None:
            return ()
        site = site_of(self._reader.job, stamp(self._reader.now()))
        if site is None:
            return (Note("no_sun", {"place": self._reader.job.place}),)
        where = {"latitude": site.latitude_deg, "longitude": site.longitude_deg}
        return (Note("sun", {"place": self._reader.job.place, **where}),)

    def _amendable(self, name: str, field: str) -> NamedRecord:
        """The row meant: a seam may bear the short name of a record; the field decides."""
        seams = [s for s in self._roof.seams() if s["seam_key"] == same_name(name)]
        if not seams:
            return self._reader.find(name)
        try:
            place_of("seam", field)
        except NotAChoice:
            with contextlib.suppress(Unheard):
                return self._reader.find(name)
        return {"id": seams[0]["id"], "name": seams[0]["name"], "table": "seams"}

    def _new_value(self, place: ValueAt, value: str, old: object) -> JsonValue:
        """Read the new value as the first one was: in the dial's unit, on the record's own date."""
        if place.read_as == "time":
            return stamp(read_beside(value, str(old), self._reader.job.zone, _("time")))
        if place.read_as == "readings":
            return read_payload(
                place,
                split_values("reading", value, self._reader.job.units),
                self._reader.job.units,
            )
        if place.path == "seen.by":
            return self._reader.person(value)
        if place.read_as == "speed" and isinstance(old, dict):
            bare = not any(sign.isalpha() for sign in value)
            if bare and old["unit"] == "mark":
                return encode(read("mark", value, self._reader.job.units))
            return read_payload(place, value, self._reader.job.units, old["unit"] if bare else None)
        return read_payload(place, value, self._reader.job.units)

    def _old_value(self, subject: Subject, path: str) -> object:
        stage, _colon, rest = path.partition(":")
        if not rest:
            return subject.value(path)
        for entry, payload in subject.filled:
            if entry.kind == stage:
                return payload.get(rest)
        raise Misplaced(text=path, why=_("the run is not finished; type: weldcal seam finish"))

    def settle(self, run: str, done: str, *, by: str | None = None) -> Recorded:
        """Record what was done about the warnings of a run.

        Args:
            run: short name of a run or a cover-up.
            done: what was done.
            by: who; who is typing, where not given.

        Raises:
            Misplaced: it has none open.
        """
        row = self._reader.find(run)
        mine = [w for w in self._roof.warnings() if w["of"] == row["id"]]
        if not mine:
            raise Misplaced(text=run, why=_("no warning of it is open; see: weldcal roof"))
        seen = self._reader.seen(by, None)
        with self._transactions.by(seen) as writer:
            for warning in mine:
                record = Settle(
                    of=warning["id"], done=plain_name(_("what was done"), done), seen=seen
                )
                last = writer.add("settle", record, about=row["id"])
        return Recorded(last, row["name"], (), {"settled": [w["code"] for w in mine]})


def _of_power(subject: Subject, path: str, name: str, said: str) -> tuple[Note, ...]:
    """What to say where a run's correction speaks of the power, and its field for it does not."""
    flagged = any(stage.get("power_lost") for _entry, stage in subject.filled)
    if subject.kind != "run" or path.endswith(":power_lost") or flagged:
        return ()
    if power_said(said) is False:
        return ()
    return (Note("power_said", {"run": name, "lost": False}),)


def _amended(subject: Subject, path: str, new: object) -> object:
    """The record with its new value, read as it will be; None for a value of a later stage.

    Raises:
        ValueError: with it the record cannot be.
    """
    if ":" in path:
        return None
    payload = copy.deepcopy(subject.payload)
    *parents, last = path.split(".")
    part = payload
    for key in parents:
        part = part.setdefault(key, {})
    part[last] = new
    return decode(subject.kind, payload)
