"""Taking back what was recorded by mistake, and putting it back.

Invariant: nothing is removed. What is taken back stays readable with the
reason, and counts for nothing until it is put back. What was recorded at one
moment (a walk with its findings, forty rows of a file) is one act.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Named, Recorded, Service
from weldcal.book.job_reader import AS_LISTED
from weldcal.book.writing import LETTERS
from weldcal.errors import Misplaced, NoneYet, Unheard, Withdrawn
from weldcal.log import chain
from weldcal.log.entry import Entry
from weldcal.records.codec import decode
from weldcal.records.fields import plain_name, same_name
from weldcal.records.notes import NEVER_WITHDRAWN, WITHDRAWN, Amend
from weldcal.tables import taken_back
from weldcal.tables.fold import Subject
from weldcal.tables.projector import maker, subject_of
from weldcal.views.act import Act, ActPart
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions


_AT_ONCE = 200


# Recorded together, and taken back together: a walk's findings, the cut of a sample.
_PARTED = ("walk", "peel")


class _Kept(TypedDict):
    body: str
    hash: str
    seq: int


class Back(ActPart, frozen=True, kw_only=True):
    """One entry to be taken back or put back; `subject` is the record it is of."""

    entry: Entry
    subject: Subject


class Undo(Act, frozen=True):
    """An act with the entries that it is of."""

    parts: tuple[Back, ...]


class Undoing(Service):
    """Takes back the last thing recorded, and puts it back."""

    _reader: JobReader
    _transactions: Transactions

    def act(self, name: str | None = None, *, by: str | None = None, back: bool = False) -> Undo:
        """What `undo` would take back: the record named, else the last act of a person on this device.

        Args:
            name: short name of a record, or of a seam.
            by: whose last act, where none is named.
            back: what would be put back instead.

        Raises:
            NoneYet: that person recorded nothing here that can be.
            Misplaced: it is never taken back; says what to do instead.
        """
        if name is None:
            who = self._reader.typist(self._reader.person(by))
            return Undo(self._last_back(who) if back else self._last(who), back)
        subject = self._subject_of(name, back)
        return Undo(tuple(self._with_parts(subject, back)), back)

    def undo(self, act: Undo, why: str, *, by: str | None = None) -> Recorded:
        """Take an act back, or put it back, with the reason.

        Args:
            act: what is taken back or put back.
            why: the reason.
            by: who; who is typing, where not given.
        """
        reason = plain_name(_("reason (--why)"), why)
        seen = self._reader.seen(by, None)
        entry_id = ""
        with self._transactions.by(seen) as writer:
            for part in act.parts:
                key = f"{WITHDRAWN}:{part.entry.id}"
                record = Amend(
                    of=part.entry.id,
                    path=WITHDRAWN,
                    old=act.back or None,
                    new=not act.back,
                    why=reason,
                    seen=seen,
                    replaces=part.subject.set_by.get(key, part.entry.id),
                )
                about = part.subject.id
                entry_id = writer.add("amend", record, about=about)
        names = list(dict.fromkeys(part.row["name"] or part.row["kind"] for part in act.parts))
        kinds = [part.entry.kind for part in act.parts]
        return Recorded(
            entry_id, ", ".join(names), (), {"names": names, "kinds": kinds, "back": act.back}
        )

    def _last(self, who: str) -> tuple[Back, ...]:
        """The last act of somebody on this device that still counts."""
        act: list[Back] = []
        for entry in self._typed_here(who):
            if act and entry.at != act[0].entry.at:
                break
            if entry.kind == "advice" or entry.payload.get("path") == WITHDRAWN:
                continue
            subject = self._subject(entry.about)
            if subject is None or entry.id in subject.taken_back or subject.withdrawn:
                continue
            if entry.kind in NEVER_WITHDRAWN:
                if act:
                    break
                raise Misplaced(
                    text=entry.kind,
                    why=_(
                        "the last thing you recorded is never taken back; to take back what was before it, name it, like: weldcal undo S3"
                    ),
                )
            act.append(self._back(entry, subject))
        if not act:
            raise NoneYet(
                what=_("entry of {who} on this device", who=who),
                then=_("Name what to take back, like: weldcal undo S3"),
            )
        return tuple(reversed(act))

    def _last_back(self, who: str) -> tuple[Back, ...]:
        """What somebody last took back on this device, and nobody put back since."""
        act: list[Back] = []
        at = None
        for entry in self._typed_here(who):
            if at is not None and entry.at != at:
                break
            if entry.payload.get("path") != WITHDRAWN or entry.payload.get("new") is not True:
                continue
            subject = self._subject(entry.about)
            withdrawn = subject.taken_back.get(entry.payload["of"]) if subject else None
            if subject is not None and withdrawn is not None and withdrawn[1].id == entry.id:
                act.append(self._back(withdrawn[0], subject))
                at = entry.at
        if not act:
            raise NoneYet(
                what=_("entry taken back by {who} on this device", who=who),
                then=_("Name what to put back, like: weldcal undo S3 --back"),
            )
        return tuple(reversed(act))

    def _typed_here(self, who: str) -> Iterator[Entry]:
        """This device's entries of one person and job, the last first."""
        device, before = self._reader.local("device"), None
        while True:
            rows = self._reader.select(
                _Kept,
                "SELECT body, hash, seq FROM entries WHERE device = ?1 AND job = ?2 "
                "AND (?3 IS NULL OR seq < ?3) "
                f"ORDER BY seq DESC LIMIT {_AT_ONCE}",
                (device, self._reader.job.id, before),
            )
            if not rows:
                return
            for entry in chain.readable([(row["body"], row["hash"]) for row in rows]):
                if same_name(entry.who) == same_name(who):
                    yield entry
            before = rows[-1]["seq"]

    def _subject_of(self, name: str, back: bool) -> Subject:
        """The record of a short name, or the seam listed under a name."""
        subject_id: str | None
        try:
            subject_id = self._reader.find(name)["id"]
        except Withdrawn:
            if not back:
                raise
            subject_id = self._withdrawn_of(name)
        except Unheard:
            listed = self._seam_of(name)
            if listed is None:
                raise
            subject_id = listed
        subject = self._subject(subject_id)
        assert subject is not None
        if subject.kind in NEVER_WITHDRAWN:
            raise Misplaced(text=name, why=_("that is never taken back"))
        if back and not subject.withdrawn:
            raise Misplaced(text=name, why=_("it was not taken back; it counts"))
        return subject

    def _withdrawn_of(self, name: str) -> str:
        wanted, _dot, device = name.strip().partition(".")
        rows = self._reader.part(
            Named,
            "withdrawn",
            "AND was_in IS NOT NULL AND upper(name) = upper(?) AND device LIKE ?",
            wanted,
            device + "%",
        )
        return self._reader.only_one(rows, LETTERS[wanted[:1].upper()][1], name)["id"]

    def _seam_of(self, name: str) -> str | None:
        ids = self._reader.column(
            str,
            "SELECT id FROM seams WHERE job = ?1 AND seam_key = ?2 UNION ALL SELECT id FROM withdrawn "
            "WHERE job = ?1 AND was_in = 'seams' AND seam_key = ?2 LIMIT 1",
            (self._reader.job.id, same_name(name)),
        )
        return ids[0] if ids else None

    def _with_parts(self, subject: Subject, back: bool) -> Iterator[Back]:
        yield self._back(subject.base, subject)
        column = subject.kind  # the finding's column that names it
        if column not in _PARTED:
            return
        if back:
            ids = self._reader.column(
                str,
                "SELECT id FROM withdrawn WHERE was_in = 'findings' "
                f"AND json_extract(said, '$.{column}') = ?",
                (subject.id,),
            )
        else:
            ids = self._reader.column(
                str, f"SELECT id FROM findings WHERE {column} = ?", (subject.id,)
            )
        for one in ids:
            part = self._subject(one)
            if part is not None:
                yield self._back(part.base, part)

    def _subject(self, about: str) -> Subject | None:
        return subject_of(self._reader.reading(), about)

    def _back(self, entry: Entry, subject: Subject) -> Back:
        """An entry with the names of what hangs on it and stays."""
        hangs: list[Named] = []
        if entry.id == subject.id:
            if subject.kind == "strip":
                hangs = self._reader.part(
                    Named, "runs", f"AND go_ahead = ? {AS_LISTED}", subject.id
                )
            elif subject.kind == "finding":
                hangs = self._reader.part(
                    Named, "mends", f"AND finding = ? {AS_LISTED}", subject.id
                )
        record = decode(subject.kind, subject.payload)
        made_by = maker(subject.kind)
        assert made_by is not None, "what can be taken back has rows"
        own = made_by(subject, record, self._reader.job.day_begins)
        row = taken_back.row(subject, entry, own)
        return Back(
            entry=entry,
            subject=subject,
            kind=subject.kind,
            row={
                "name": row["name"],
                "kind": row["kind"],
                "was_in": row["was_in"],
                "seam": row["seam"],
                "said": row["said"],
                "seen_by": row["seen_by"],
                "seen_local": row["seen_local"],
            },
            hangs_on=tuple(row["name"] for row in hangs),
        )
