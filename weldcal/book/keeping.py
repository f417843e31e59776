"""Keeping the record: seals, packs, merges, backups, exports, photos checked.

Invariant: nothing here changes an entry. A merge is a union taken whole or not
at all; a restore never drops what only the present book holds.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from weldcal.book.core import Recorded
from weldcal.book.foreman import Foreman
from weldcal.errors import BadEntry, BookTrouble, FileTrouble, Misplaced, NotABook
from weldcal.log import chain, pack, photos, seal, signing, store
from weldcal.log.entry import Entry
from weldcal.records.codec import KINDS, decode
from weldcal.records.fields import plain_name
from weldcal.records.seal import Handed, Head, Seal
from weldcal.tables import projector
from weldcal.tables.schema import TABLES
from weldcal.words import _, mark

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


class Examined(Struct, frozen=True):
    """What the record looks like: entries, faults, clocks (no faults), and the seal asked about."""

    entries: int
    faults: list[chain.Fault]
    clocks: list[chain.Fault]
    sealed: dict[str, Any] | None


class Keeping(Foreman):
    """Verbs of whoever keeps the record."""

    # -- seals ----------------------------------------------------------------------

    def seal(
        self, label: str | None = None, *, by: str | None = None, key: Path | None = None
    ) -> dict[str, Any]:
        """Seal all that is recorded so far; the seal's row.

        Raises:
            FileTrouble: `key` cannot be read.
        """
        seen = self.seen(by, None)
        label = plain_name(_("label"), label or self._day(seen.at))
        job = self.job
        with self.writing(self.typist(seen.by)) as writer:
            heads = chain.leaves(writer.connection)
            count = writer.connection.execute("SELECT count(*) FROM entries").fetchone()[0]
            record = Seal(
                name=writer.next_name("L", job.id), label=label, seen=seen, entries=count,
                heads=tuple(Head(device=d, seq=seq, hash=kept) for d, seq, kept in heads),
                counts=self._counts(writer.connection, job.id),
            )  # fmt: skip
            said = seal.statement(job.id, record)
            public, signature = signing.sign(key, said) if key else (None, None)
            record = replace(record, code=seal.code(said), key=public, signature=signature)
            writer.add("seal", record, job=job.id)
        return self.find(record.name)

    def hand(
        self, name: str, to: str, how: str, *, by: str | None = None, at: str | None = None
    ) -> Recorded:
        """Record to whom a seal was handed, and how.

        Raises:
            Misplaced: the name is not of a seal.
        """
        row = self.find(name)
        if row["table"] != "seals":
            raise Misplaced(text=name, why=_("only a seal is handed over; type its name, like L1"))
        record = Handed(
            to=plain_name(_("to whom"), to), how=plain_name(_("how"), how), seen=self.seen(by, at)
        )
        with self.writing(self.typist(record.seen.by)) as writer:
            writer.add("handed", record, job=self.job.id, about=row["id"])
        return Recorded(row["id"], row["name"])

    def seals(self) -> list[dict[str, Any]]:
        """The job's seals, with to whom each was handed."""
        rows = self.rows("SELECT * FROM seals WHERE job = ? ORDER BY tick", (self.job.id,))
        for row in rows:
            row["handed"] = self.rows(
                'SELECT * FROM handed WHERE "of" = ? ORDER BY tick', (row["id"],)
            )
        return rows

    def verify_seal(self, code: str) -> tuple[dict[str, Any] | None, list[chain.Fault]]:
        """Whether the record still is what a seal says: the seal's row, and all faults.

        Raises:
            Mistyped: it is no code.
        """
        wanted = seal.read_code(code)
        connection = self.reading()
        found = [
            e for e in self._entries_of_kind(connection, "seal") if e.payload.get("code") == wanted
        ]
        if not found:
            return None, [
                chain.Fault("-", "seal", f"a seal with code {wanted}", "none in this book")
            ]
        entry = found[0]
        return {"entry": entry.id, "at": entry.at, **entry.payload}, self._seal_faults(
            connection, entry
        )

    def _seal_faults(self, connection: sqlite3.Connection, entry: Entry) -> list[chain.Fault]:
        try:
            kept: Seal = decode("seal", entry.payload)
        except ValueError as error:
            return [chain.Fault(entry.id, "seal", "a seal", str(error))]
        said = seal.statement(entry.job or "", kept)
        faults = []
        if seal.code(said) != kept.code:
            faults.append(chain.Fault(entry.id, "seal", kept.code, seal.code(said)))
        before = {e.hash: e.prev for e in chain.entries(connection)}
        sealed: set[str] = set()
        for head in kept.heads:
            if head.hash not in before:
                what = f"sealed entry {head.seq} of device {head.device}"
                faults.append(chain.Fault(entry.id, what, head.hash, "not in this book"))
            at = head.hash
            while at in before and at not in sealed:
                sealed.add(at)
                at = before[at]
        if len(sealed) != kept.entries:
            faults.append(chain.Fault(entry.id, "seal count", str(kept.entries), str(len(sealed))))
        if kept.signature and not signing.holds(kept.key or "", kept.signature, said):
            faults.append(chain.Fault(entry.id, "signature", "of this seal", "of something else"))
        return faults

    def _counts(self, connection: sqlite3.Connection, job: str) -> dict[str, int]:
        rows = connection.execute(
            "SELECT kind, count(*) FROM entries WHERE job = ? GROUP BY kind ORDER BY kind", (job,)
        )
        return dict(rows.fetchall())

    def _entries_of_kind(self, connection: sqlite3.Connection, kind: str) -> Iterator[Entry]:
        return chain.readable(
            connection.execute(
                f"SELECT body, hash FROM entries WHERE kind = ? {chain.ORDER}", (kind,)
            )
        )

    def examine(self, code: str | None = None) -> Examined:
        """Everything recomputed, of one moment: chain, tables, photos, clocks, and a seal by its code.

        Raises:
            Mistyped: `code` is no code.
        """
        with self.snapshot():
            count, faults = self.verify()
            faults += self.photo_faults()
            sealed = None
            if code is not None:
                sealed, broken = self.verify_seal(code)
                faults += broken
            return Examined(count, faults, self.clock_warnings(), sealed)

    # -- packs -----------------------------------------------------------------------

    def pack(self, path: Path, since: Path | None = None) -> tuple[pack.Header, list[str]]:
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
        with self.snapshot() as connection:
            faults = chain.verify_chain(connection)
            if any(fault.what == "entry" for fault in faults):
                raise BadEntry(entry=faults[0].entry, why=faults[0].found)
            heads = chain.whole_heads(connection)
            here = {e.hash for e in chain.entries(connection)}
            # Only what they hold whole, and as we hold it, is left out.
            held = {device: seq for device, (seq, kept) in theirs.items() if kept in here}
            wanted = [e for e in chain.entries(connection) if e.seq > held.get(e.device, 0)]
        names = sorted({name for e in wanted for name in pack.named_photos(e.payload)})
        whole = [name for name in names if photos.fault(self.path, name) is None]
        header = pack.Header(
            weldcal_pack=pack.PACK, made=self.now().isoformat(timespec="seconds"), program=__version__,
            entries=len(wanted), photos=len(whole), heads=heads,
        )  # fmt: skip
        pack.write(path, header, wanted, self.path, whole)
        return header, [name for name in names if name not in whole]

    def merge(self, path: Path) -> Merged:
        """Take a pack in: all of it, or nothing. Any order, any number of times, same tables.

        Raises:
            FileTrouble: the file cannot be read.
            BadPack: it is not a whole, true pack.
        """
        found: list[Entry] = []
        seen: set[str] = set()
        pictures: dict[str, bytes] = {}
        header: pack.Header | None = None
        for line in pack.lines(path):
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
                pictures[line.sha256] = pack.photo_of(path, line)
        if header is None or (header.entries, header.photos) != (len(found), len(pictures)):
            raise pack.BadPack(
                file=path.name, why=_("it holds another number of entries than it says")
            )
        self._check_links(path, found)
        named = {name for entry in found for name in pack.named_photos(entry.payload)}
        if pictures.keys() - named:
            raise pack.BadPack(file=path.name, why=_("it holds a photo that no entry of it names"))
        fresh = not self.path.exists()
        if fresh:
            self._make()
        try:
            connection = self._for_writing()
            with store.trouble(self.path):
                new, other_self = self._take(connection, path, found, pictures)
                missing = self._missing(connection)
                forks = tuple(chain.forks(connection))
        except BaseException:
            if fresh:
                self.close()
                self.path.unlink()
            raise
        return Merged(new, len(found) - new, len(pictures), missing, forks, other_self)

    def _check_links(self, path: Path, found: list[Entry]) -> None:
        """Within the pack, each entry must hold the hash of the one before it on its device."""
        places: dict[tuple[str, int], set[str]] = {}
        for entry in found:
            places.setdefault((entry.device, entry.seq), set()).add(entry.hash)
        for number, entry in enumerate(found, 1):
            before = places.get((entry.device, entry.seq - 1))
            if before is not None and entry.prev not in before:
                raise pack.BadPack(file=path.name, why=_("entry {n} ({id}) does not follow from the one before it", n=number, id=entry.id))  # fmt: skip

    def _take(
        self, connection: sqlite3.Connection, path: Path, found: list[Entry], pictures: dict[str, bytes]
    ) -> tuple[int, bool]:  # fmt: skip
        connection.execute("BEGIN IMMEDIATE")
        kept: list[str] = []
        try:
            self._check_entries(connection, path, found)
            other_self = self._leave_device(connection, found)
            fresh = self._not_here(connection, found)
            chain.insert(connection, fresh)
            self._project(connection, fresh)
            new = len(fresh)
            kept = photos.keep_all(self.path, pictures)
            connection.execute("COMMIT")
        except BaseException as error:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            photos.drop(self.path, kept)
            if isinstance(error, BadEntry):
                raise pack.BadPack(file=path.name, why=str(error)) from None
            raise
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
        self, connection: sqlite3.Connection, path: Path, found: list[Entry]
    ) -> None:
        """What one entry alone cannot show: payloads of their kind, ticks that do not leap."""
        here = connection.execute("SELECT max(tick) FROM entries").fetchone()[0] or 0
        for number, entry in enumerate(found, 1):
            why = None
            if entry.tick > here + len(found) + LEAP:
                why = _("its count leaps ahead of all that is known")
            elif (
                entry.kind in KINDS and entry.id != entry.about
            ):  # what begins a subject is decoded below
                try:
                    decode(entry.kind, entry.payload)
                except ValueError as error:
                    why = str(error)
            if why:
                raise pack.BadPack(file=path.name, why=_("entry {n} ({id}): {what}", n=number, id=entry.id, what=why))  # fmt: skip

    def _not_here(self, connection: sqlite3.Connection, found: list[Entry]) -> list[Entry]:
        """Entries of a pack that the book lacks."""
        known = "SELECT 1 FROM entries WHERE hash = ?"
        return [e for e in found if connection.execute(known, (e.hash,)).fetchone() is None]

    def _project(self, connection: sqlite3.Connection, found: list[Entry]) -> None:
        jobs = [entry.about for entry in found if entry.kind == "job"]
        subjects = [*jobs, *(entry.about for entry in found)]
        projector.project(connection, jobs)
        for job in jobs:  # the day of what came before its job was not known
            rows = connection.execute("SELECT DISTINCT about FROM entries WHERE job = ?", (job,))
            subjects += [about for (about,) in rows.fetchall()]
        projector.project(connection, subjects)

    def _missing(self, connection: sqlite3.Connection) -> tuple[tuple[str, int, int], ...]:
        """Sequences of each device that are not here yet."""
        rows = connection.execute(
            "SELECT device, before + 1, seq - 1 FROM (SELECT device, seq, "
            "lag(seq, 1, 0) OVER (PARTITION BY device ORDER BY seq) AS before FROM "
            "(SELECT DISTINCT device, seq FROM entries)) WHERE seq > before + 1"
        )
        return tuple((device, first, last) for device, first, last in rows)

    # -- backups -----------------------------------------------------------------------

    def backup(self, path: Path) -> int:
        """Copy the book while others write, and verify the copy; the number of entries.

        Raises:
            FileTrouble: it cannot be written, is there already, or does not verify.
        """
        if path.exists():
            raise FileTrouble(file=path, why=_("it is there already; type another name"))
        part = path.with_name(f"{path.name}.{os.getpid()}.part")
        try:
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            source = store.open_existing(self.path, write=False)
            try:
                count = _copy(source, part)
            finally:
                source.close()
            _fsync(part)
            part.rename(path)
            _copy_photos(self.path, path)
        except sqlite3.Error as error:
            raise FileTrouble(file=path, why=str(error)) from None
        except OSError as error:
            raise FileTrouble(file=path, why=error.strerror or str(error)) from None
        finally:
            part.unlink(missing_ok=True)
        return count

    def restore(self, path: Path) -> tuple[int, Path | None]:
        """Put a backup in the book's place, unless the book holds what the backup lacks.

        Returns:
            the number of entries, and where a damaged book was moved to.

        Raises:
            BookTrouble: the backup is no book, or lacks entries of the present one.
        """
        if not path.exists():
            raise FileTrouble(file=path, why=_("no such file"))
        source = store.open_existing(path, write=False)
        try:
            with store.trouble(path):
                faults = chain.verify_chain(source)
                kept = {row[0] for row in source.execute("SELECT hash FROM entries")}
            if faults:
                raise FileTrouble(
                    file=path, why=_("it does not verify ({what})", what=faults[0].what)
                )
            aside = self._set_aside_damaged() if self.path.exists() else None
            if self.path.exists():
                count = self._bring_in(path, source, kept)
            else:
                count = self._replace_with(source)
            _copy_photos(path, self.path)
            return count, aside
        finally:
            source.close()

    def _set_aside_damaged(self) -> Path | None:
        """Move a file that is no book any more aside, with what lies beside it; where to."""
        try:
            self.reading()
            return None
        except NotABook:
            self.close()
        number, aside = 1, self.path.with_name(f"{self.path.name}.damaged")
        while aside.exists():
            number += 1
            aside = self.path.with_name(f"{self.path.name}.damaged-{number}")
        for side in ("", "-wal", "-shm"):
            beside = self.path.with_name(self.path.name + side)
            if beside.exists():
                beside.rename(aside.with_name(aside.name + side))
        return aside

    def _bring_in(self, path: Path, source: sqlite3.Connection, kept: set[str]) -> int:
        """Take a backup's entries into the book under the write lock: nobody's work is lost between."""
        connection = self._for_writing()
        with store.trouble(self.path):
            found = [Entry(*row) for row in source.execute("SELECT body, hash FROM entries")]
            connection.execute("BEGIN IMMEDIATE")
            try:
                here = {row[0] for row in connection.execute("SELECT hash FROM entries")}
                if here - kept:
                    raise NewerWork(file=path, n=len(here - kept))
                chain.insert(connection, found)
                self._project(connection, found)
                connection.execute("DELETE FROM local WHERE name = 'device'")
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        return len(found)

    def _replace_with(self, source: sqlite3.Connection) -> int:
        self.close()
        part = self.path.with_name(f"{self.path.name}.{os.getpid()}.part")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            count = _copy(source, part)
            _fsync(part)
            for side in ("-wal", "-shm"):
                self.path.with_name(self.path.name + side).unlink(missing_ok=True)
            part.rename(self.path)
        except (OSError, sqlite3.Error) as error:
            raise FileTrouble(file=self.path, why=str(error)) from None
        finally:
            part.unlink(missing_ok=True)
        return count

    # -- exports ---------------------------------------------------------------------

    def export(self, folder: Path, *, people: bool = True) -> Iterator[tuple[str, int]]:
        """Write every table as CSV and JSON Lines; yields each table's name and rows.

        Raises:
            OSError: a file cannot be written.
        """
        from weldcal.tables import exports

        return exports.write_all(self.reading(), folder, people=people)

    def schema(self) -> dict[str, list[str]]:
        """Tables and their columns."""
        self.reading()
        return {name: list(columns) for name, columns in TABLES.items()}

    def clock_warnings(self) -> list[chain.Fault]:
        """Where clocks went back or disagree; no faults of the record."""
        with store.trouble(self.path):
            return chain.clock_warnings(self.reading())

    # -- photos ---------------------------------------------------------------------------

    def photo_faults(self) -> list[chain.Fault]:
        """Photos the record names that are not beside the book as they were."""
        # Only those that name one are read; by the index on ticks, each would cost a random page.
        naming = self.reading().execute(
            "SELECT body, hash FROM entries WHERE instr(body, '\"sha256\"') > 0 "
            "ORDER BY +tick, device, seq"
        )
        return [
            chain.Fault(entry.id, "photo", name, wrong)
            for entry in chain.readable(naming)
            for name in pack.named_photos(entry.payload)
            if (wrong := photos.fault(self.path, name)) is not None
        ]


class NewerWork(BookTrouble):
    """A restore that would drop what only the present book holds."""

    sentence = mark(
        "{file} lacks {n} entries that this book holds; nothing was restored. "
        "Keep this book: weldcal backup, or weldcal merge for a pack of the other."
    )


def _copy(source: sqlite3.Connection, path: Path) -> int:
    """SQLite's online copy, checked: integrity of the file, every hash and link; entries copied."""
    target = sqlite3.connect(path, isolation_level=None)
    try:
        source.backup(target, pages=2000)
        target.execute("PRAGMA journal_mode = DELETE")
        wrong = target.execute("PRAGMA integrity_check").fetchone()[0]
        faults = chain.verify_chain(target)
        if wrong != "ok" or faults:
            raise FileTrouble(file=path, why=_("the copy does not verify"))
        target.execute("PRAGMA journal_mode = WAL")
        count: int = target.execute("SELECT count(*) FROM entries").fetchone()[0]
    finally:
        target.close()
    return count


def _copy_photos(source: Path, to: Path) -> None:
    place = photos.folder(source)
    if place.is_dir():
        for photo in sorted(place.iterdir()):
            if photos.fault(source, photo.name) is None:
                photos.keep(to, photo.name, photo.read_bytes())


def _fsync(path: Path) -> None:
    file = os.open(path, os.O_RDONLY)
    try:
        os.fsync(file)
    finally:
        os.close(file)
