"""Answers of a step that is not recorded yet, kept beside the book.

Invariant: a draft is no entry and no evidence. It is whole on disk when `keep_draft`
returns: written aside, synced, moved into place, and the folder synced. One that
cannot be read is as good as none. Two windows never write the same one: the
second of a person's day has its own.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TypedDict

import msgspec

from weldcal.errors import BookUnwritable
from weldcal.log import chain
from weldcal.log.entry import Entry
from weldcal.log.photos import sync
from weldcal.long_work import atomic_write
from weldcal.records.common import Seen
from weldcal.records.draft import ROLES, Draft
from weldcal.records.fields import same_name

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader


_WINDOWS = 4  # of one person's day, each with its own draft; nobody has more open


class _Kept(TypedDict):
    """An entry as it lies in the book."""

    body: str
    hash: str


class Drafts:
    """Answers of a step that is not recorded yet."""

    _window = 1

    _held: BinaryIO | None = None  # locked as long as it is open: no longer than this process lives

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader

    def hold_draft(self, person: str | None, role: str | None) -> bool:
        """Take the first draft of somebody's day that no other window holds.

        Args:
            person, role: whose day, and as what.

        Returns:
            Whether it is the first of all.
        """
        for window in range(1, _WINDOWS + 1):
            path = self._draft_path(person, role, window)
            # Held by another; or nothing can be written here, as keeping will say.
            with contextlib.suppress(OSError):
                lock = path.with_name(path.name.replace(".draft-", ".window-")).open("ab")
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                self._window, self._held = window, lock
                break
        return self._window == 1

    def let_go(self) -> None:
        """Let another window take the draft that this one holds."""
        if self._held is not None:
            self._held.close()
            self._held = None

    def draft(self, person: str | None, role: str | None) -> Draft | None:
        """Where somebody is in their day; None where nothing is kept.

        Args:
            person: their name; None before anybody is named.
            role: operator, inspector or foreman.
        """
        return _read(self._draft_path(person, role, self._window))

    def keep_draft(self, draft: Draft) -> None:
        """Put a draft on disk.

        Args:
            draft: answers so far.

        Raises:
            BookUnwritable: it cannot be written.
        """
        path = self._draft_path(draft.person, draft.role, self._window)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with atomic_write(path) as out:
                out.write(msgspec.json.encode(draft))
            sync(path.parent)
        except OSError as error:
            raise BookUnwritable(file=path, why=error.strerror or str(error)) from None

    def drop_draft(self, draft: Draft) -> None:
        """Forget a draft.

        Args:
            draft: the one to forget; nothing happens where it is gone already.
        """
        with contextlib.suppress(OSError):
            self._draft_path(draft.person, draft.role, self._window).unlink(missing_ok=True)

    def recorded_since(self, draft: Draft) -> frozenset[str]:
        """Kinds of what a person recorded on this device since a step's command began.

        Args:
            draft: of that person, at that step.
        """
        rows = self._reader.select(
            _Kept,
            "SELECT body, hash FROM entries WHERE tick > ? AND device = ? AND job = ?",
            (draft.begun, self._reader.local("device"), self._reader.job.id),
        )
        return frozenset(
            entry.kind
            for entry in chain.readable((row["body"], row["hash"]) for row in rows)
            if same_name(_seen_by(entry)) == same_name(draft.person or "")
        )

    def cautions_read(self, seen: Seen) -> bool:
        """Whether somebody confirmed the cautions on that day, on this device.

        Args:
            seen: who, and a time of that day.
        """
        at = datetime.fromisoformat(seen.at) - timedelta(hours=self._reader.job.day_begins)
        day = at.date().isoformat()
        paths = (self._draft_path(seen.by, ROLES[0], n + 1) for n in range(_WINDOWS))
        return any(d.date == day and "cautions" in d.done for d in map(_read, paths) if d)

    def _draft_path(self, person: str | None, role: str | None, window: int) -> Path:
        job = self._reader.job.id if person else ""  # nobody is named before there is a job
        whose = hashlib.sha256(f"{job}\n{person or ''}\n{role or ''}".encode()).hexdigest()[:12]
        which = f"-{window}" if window > 1 else ""
        return self._reader.path.with_name(f"{self._reader.path.name}.draft-{whose}{which}")


def _read(path: Path) -> Draft | None:
    try:
        return msgspec.json.decode(path.read_bytes(), type=Draft)
    except (OSError, msgspec.MsgspecError):
        return None


def _seen_by(entry: Entry) -> str:
    """Who an entry says did it; who typed it, where it says nothing."""
    seen: dict[str, str] = entry.payload.get("seen") or {}
    return seen.get("by") or entry.who
