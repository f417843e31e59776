"""Packs: what other devices recorded, given and taken; forks settled.

Invariant: a merge is a union taken whole or not at all; any order and any
number of times give the same tables.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from weldcal.book import proof
from weldcal.book.core import Recorded, Service
from weldcal.book.recording.pack_links import check_links, check_places
from weldcal.errors import BadEntry, Misplaced
from weldcal.log import chain, pack, photos, store, verifying
from weldcal.log.entry import Entry
from weldcal.long_work import Progress, no_progress, with_progress
from weldcal.records.codec import KINDS, decode
from weldcal.records.fields import plain_name
from weldcal.records.notes import ForkSettled
from weldcal.tables import projector
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions


# A device that worked alone for years is not this many entries ahead of another.
LEAP = 2**20


class Merged(Struct, frozen=True):
    """What a merge came to.

    Attributes:
        new, known: entries taken in, and those that were here already.
        photos: photos taken in.
        missing: (device, first, last) sequences not here yet: another pack has them.
        forks: (device, seq) of places that two entries take.
        other_self: another copy of this book wrote as this device; it writes as a new one now.
    """

    new: int
    known: int
    photos: int
    missing: tuple[tuple[str, int, int], ...] = ()
    forks: tuple[tuple[str, int], ...] = ()
    other_self: bool = False


class PackRead(Struct, frozen=True):
    """A whole, true pack: its entries in order, and the names of its photos."""

    entries: list[Entry]
    photos: set[str]


class Packing(Service):
    """Writes packs, takes them in, settles forks."""

    _reader: JobReader
    _transactions: Transactions

    def pack(
        self, path: Path, since: Path | None = None, on_progress: Progress = no_progress
    ) -> tuple[pack.Header, list[str]]:
        """Write the entries the other side lacks into a pack; all, where `since` is not given.

        Args:
            path: the file to make.
            since: the last pack they sent: what its book held is left out.

        Returns:
            the header, and names of photos that are not beside the book as they were.

        Raises:
            FileTrouble, BadPack: the files cannot be written or read.
        """
        from weldcal import __version__

        theirs = pack.header_of(since).heads if since else {}
        with self._reader.snapshot() as connection:
            faults = verifying.verify_chain(connection, on_progress)
            bad = [fault for fault in faults if fault.what == "entry"]
            if bad:
                raise BadEntry(entry=bad[0].entry, why=bad[0].found)
            heads = chain.whole_heads(connection)
            here = {e.hash for e in chain.entries(connection)}
            # Only what they hold whole, and as we hold it, is left out.
            held = {device: seq for device, (seq, kept) in theirs.items() if kept in here}
            wanted = [e for e in chain.entries(connection) if e.seq > held.get(e.device, 0)]
        names = sorted({name for e in wanted for name in pack.named_photos(e.payload)})
        whole = [name for name in names if photos.fault(self._reader.path, name) is None]
        header = pack.Header(
            weldcal_pack=pack.PACK,
            made=self._reader.now().isoformat(timespec="seconds"),
            program=__version__,
            entries=len(wanted),
            photos=len(whole),
            heads=heads,
        )
        pack.write(path, header, wanted, self._reader.path, whole, on_progress)
        return header, [name for name in names if name not in whole]

    def merge(
        self, path: Path, on_progress: Progress = no_progress, already: PackRead | None = None
    ) -> Merged:
        """Take a pack in: all of it, or nothing. Any order, any number of times, same tables.

        Args:
            path: the pack.
            already: what `read` found in it, where somebody has read it.

        Raises:
            FileTrouble: the file cannot be read.
            BadPack: it is not a whole, true pack.
        """
        whole = already or read(path, on_progress)
        found, pictures = whole.entries, whole.photos
        fresh = not self._reader.path.exists()
        if fresh:
            self._transactions.make()
        try:
            connection = self._transactions.connection()
            with store.trouble(self._reader.path):
                new, other_self = self._take(connection, path, found, pictures, on_progress)
                missing = self._missing(connection)
                forks = tuple(proof.open_forks(connection))
        except BaseException:
            if fresh:
                self._transactions.close()
                self._reader.path.unlink()
            raise
        return Merged(new, len(found) - new, len(pictures), missing, forks, other_self)

    def _take(
        self,
        connection: sqlite3.Connection,
        path: Path,
        found: list[Entry],
        pictures: set[str],
        on_progress: Progress,
    ) -> tuple[int, bool]:
        kept: list[str] = []
        try:
            with store.transaction(connection, lambda: photos.drop(self._reader.path, kept)):
                empty = connection.execute("SELECT 1 FROM entries").fetchone() is None
                self._check_entries(connection, path, found, on_progress)
                other_self, fresh = False, found
                # Else the pack agrees with the book: `read` saw that it agrees with itself.
                if not empty:
                    check_places(connection, path, found)
                    other_self = self._leave_device(connection, found)
                    fresh = self._not_here(connection, found)
                    projector.note_first(connection, fresh)
                chain.insert(connection, fresh)
                self.project(connection, fresh, on_progress, alone=empty)
                new = len(fresh)
                one_by_one = pack.pictures(path, pictures) if pictures else iter(())
                kept = photos.keep_all(self._reader.path, one_by_one, len(pictures), on_progress)
        except BadEntry as error:
            raise pack.BadPack(file=path.name, why=str(error)) from None
        return new, other_self

    def _leave_device(self, connection: sqlite3.Connection, found: list[Entry]) -> bool:
        """Take a new device id where a pack brings entries of ours that are not here."""
        mine = connection.execute("SELECT value FROM local WHERE name = 'device'").fetchone()
        if mine is None:
            return False
        known = {
            kept
            for (kept,) in connection.execute(
                "SELECT hash FROM entries WHERE device = ?", tuple(mine)
            )
        }
        strange = any(e.device == mine[0] and e.hash not in known for e in found)
        if strange:
            connection.execute("DELETE FROM local WHERE name = 'device'")
        return strange

    def _check_entries(
        self, connection: sqlite3.Connection, path: Path, found: list[Entry], on_progress: Progress
    ) -> None:
        """What one entry alone cannot show: payloads of their kind, ticks that do not leap."""
        here = connection.execute("SELECT max(tick) FROM entries").fetchone()[0] or 0
        furthest = here + len(found) + LEAP
        entries = with_progress(found, _("entries"), len(found), on_progress)
        for number, says in enumerate(entries, 1):
            why = None
            if says.tick > furthest:
                why = _("its count leaps ahead of all that is known")
            elif says.id != says.about and says.kind in KINDS:  # else it is decoded below
                try:
                    decode(says.kind, says.payload)
                except ValueError as error:
                    why = str(error)
            if why:
                raise pack.BadPack(
                    file=path.name,
                    why=_("entry {n} ({id}): {what}", n=number, id=says.id, what=why),
                )

    def _not_here(self, connection: sqlite3.Connection, found: list[Entry]) -> list[Entry]:
        """Entries of a pack that the book lacks."""
        known: set[str] = set()
        for some in projector.in_parts([e.hash for e in found]):
            places = ", ".join("?" * len(some))
            rows = connection.execute(f"SELECT hash FROM entries WHERE hash IN ({places})", some)
            known.update(kept for (kept,) in rows)
        return [e for e in found if e.hash not in known]

    def project(
        self,
        connection: sqlite3.Connection,
        found: list[Entry],
        on_progress: Progress = no_progress,
        *,
        alone: bool = False,
    ) -> None:
        """Derive the rows of entries taken in.

        Args:
            connection: of the book.
            found: the entries.
            on_progress: called with how far it is.
            alone: the book has no other entries.
        """
        jobs = [entry.about for entry in found if entry.kind == "job"]
        subjects = [*jobs, *(entry.about for entry in found)]
        entries_by_subject = projector.by_subject(found) if alone else None
        projector.project(connection, jobs, entries_by_subject=entries_by_subject)
        for job in jobs if entries_by_subject is None else ():
            # the day of what came before its job was not known
            rows = connection.execute("SELECT DISTINCT about FROM entries WHERE job = ?", (job,))
            subjects += [about for (about,) in rows.fetchall()]
        projector.project(connection, subjects, on_progress, entries_by_subject)

    def settle_fork(self, place: str, done: str, *, by: str | None = None) -> Recorded:
        """Record why two entries take one place of a device, and what was done about it.

        Both stay and count; the check tells of the fork with these words from now on.

        Args:
            place: the device and the sequence, like 5742a9000001/12.

        Raises:
            Misplaced: there is no such fork.
        """
        device, _slash, number = place.partition("/")
        connection = self._reader.reading()
        known = [(d, n) for d, n in verifying.forks(connection) if d.startswith(device)]
        wanted = [(d, n) for d, n in known if str(n) == number]
        if not device or len(wanted) != 1:
            shown = ", ".join(f"{d}/{n}" for d, n in verifying.forks(connection)) or _("none")
            raise Misplaced(text=place, why=_("no fork of that name; forks: {known}", known=shown))
        ((device, seq),) = wanted
        seen = self._reader.seen(by, None)
        record = ForkSettled(
            device=device,
            seq=seq,
            hashes=tuple(verifying.branches_at(connection, device, seq)),
            done=plain_name(_("what was done"), done),
            seen=seen,
        )
        made = self._transactions.record("fork-settled", record)
        return Recorded(made, f"{device}/{seq}")

    def missing(self) -> tuple[tuple[str, int, int], ...]:
        """(device, first, last) sequences that are not here yet: another pack has them."""
        return self._missing(self._reader.reading())

    def _missing(self, connection: sqlite3.Connection) -> tuple[tuple[str, int, int], ...]:
        """Sequences of each device that are not here yet."""
        cut = connection.execute(
            "SELECT device FROM entries GROUP BY device HAVING count(DISTINCT seq) < max(seq)"
        ).fetchall()
        found: list[tuple[str, int, int]] = []
        for (device,) in cut:
            gaps = connection.execute(
                "SELECT device, before + 1, seq - 1 FROM (SELECT device, seq, "
                "lag(seq, 1, 0) OVER (ORDER BY seq) AS before FROM "
                "(SELECT DISTINCT device, seq FROM entries WHERE device = ?)) "
                "WHERE seq > before + 1",
                (device,),
            )
            found += [(at, first, last) for at, first, last in gaps]
        return tuple(found)


def read(path: Path, on_progress: Progress = no_progress) -> PackRead:
    """Read a pack, each entry and photo checked.

    Args:
        path: the pack.
        on_progress: called with how far it is.

    Raises:
        BadPack: it is not.
    """
    found: list[Entry] = []
    seen: set[str] = set()
    pictures: set[str] = set()
    header: pack.Header | None = None
    for line in with_progress(pack.lines(path), _("reading"), 0, on_progress):
        if isinstance(line, pack.Header):
            header = line
        elif isinstance(line, pack.EntryLine):
            if line.hash in seen or len(seen) >= pack.MOST_ENTRIES:
                raise pack.BadPack(
                    file=path.name, why=_("an entry twice, or more than a pack can hold")
                )
            seen.add(line.hash)
            found.append(pack.entry_of(path, line, len(found) + 1))
        elif isinstance(line, pack.PhotoLine):
            pack.photo_of(path, line)
            pictures.add(line.sha256)
    if header is None or (header.entries, header.photos) != (len(found), len(pictures)):
        raise pack.BadPack(file=path.name, why=_("it holds another number of entries than it says"))
    check_links(path, found)
    named = {name for entry in found for name in pack.named_photos(entry.payload)}
    if pictures - named:
        raise pack.BadPack(file=path.name, why=_("it holds a photo that no entry of it names"))
    return PackRead(found, pictures)
