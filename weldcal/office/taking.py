"""Crews' packs taken into the office's books.

Invariant: any order, any number of times and any interruption give the same entries and tables.
Jobs and devices that ever met are in one book; a pack goes whole into one book, so a device's
chain is never cut. A damaged pack and a stranger's are named, and the rest is taken in.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from weldcal import errors
from weldcal.book import Book
from weldcal.book.recording import packing
from weldcal.log import pack, store
from weldcal.log.entry import Entry
from weldcal.long_work import Progress, no_progress
from weldcal.office.ledger import BOOKS, Holds, Ledger, folded
from weldcal.views.office import CameIn, PackedJob, PackTaken, Refused, Stranger
from weldcal.words import _, mark

_SUFFIX = ".weldpack"


class NoRoom(errors.BookTrouble):
    """The office's disk refused; what was taken in before stays."""

    sentence = mark(
        "{file} cannot be written ({why}). Packs taken in before stay. "
        "Free the disk, or give another folder with --office; type it again, and the rest follows."
    )


class BookBroken(errors.BookTrouble):
    """A book of the office cannot be read: what it holds is in the packs that brought it."""

    sentence = mark(
        "{file}, a book of the office, cannot be read ({why}). Put it back from a backup. Without "
        "one: move it and office.sqlite out of the office's folder, and take every pack in again."
    )


class Office:
    """The office's folder: its books, and the list of what they hold."""

    def __init__(self, folder: Path) -> None:
        """Open an office; one that is not there is made.

        Raises:
            NotWritten, BookTrouble: the folder cannot be used.
        """
        self.folder = folder
        self.books = folder / BOOKS
        with _room(self.books):
            self.ledger = Ledger(folder)
            try:
                self._put_right()
            except BaseException:
                self.close()
                raise

    def close(self) -> None:
        """Close the list."""
        self.ledger.close()

    def path_of(self, book: str) -> Path:
        """The file of a book."""
        return self.books / book

    # -- taking in ---------------------------------------------------------------------------

    def take(self, folder: Path, *, newcomers: bool, on_progress: Progress = no_progress) -> CameIn:
        """Take every pack of a folder in.

        Args:
            folder: where packs arrive, folders in it too; or one pack.
            newcomers: take in packs of crews nobody here knows as well.
            on_progress: called with how far it is.

        Raises:
            FileTrouble: there is no such folder.
            NoRoom: the office's disk is full, or cannot be written.
        """
        one = folder.is_file()
        files = [folder] if one else _files(folder, self.folder)
        folder = folder.parent if one else folder
        empty = not self.ledger.begun()
        came = _Came()
        files, others = (files, []) if one else _packs_and_others(files)
        with _room(self.books):
            waiting = self._all_of(files, folder, empty or newcomers, came, on_progress)
        strangers = tuple(_stranger(path, path.relative_to(folder)) for path in waiting)
        if came.taken or came.before:
            self.ledger.begin()
        return CameIn(
            taken=tuple(came.taken),
            before=came.before,
            refused=tuple(came.refused),
            strangers=strangers,
            missing=tuple(sorted(self._missing(came))),
            groups=self.ledger.groups() if empty else (),
            others=tuple(str(path.relative_to(folder)) for path in others),
            jobs=len(self.ledger.jobs()),
        )

    def _all_of(
        self, files: list[Path], folder: Path, anybody: bool, came: _Came, on_progress: Progress
    ) -> list[Path]:
        """Take in known packs, again while that makes more of them known; return the rest."""
        waiting = files
        while waiting:
            left = []
            for n, path in enumerate(waiting):
                on_progress(_("packs"), n, len(waiting))
                if self._one(path, path.relative_to(folder), anybody, came):
                    left.append(path)
            if len(left) == len(waiting):
                break
            waiting = left
        return waiting

    def _one(self, path: Path, name: Path, anybody: bool, came: _Came) -> bool:
        """Take one file in; whether it must wait, because nothing in it is known yet."""
        try:
            digest = _digest(path)
            if self.ledger.has(digest):
                came.before += 1
                return False
            contents = packing.read(path)
            holds = holds_of(contents.entries)
            if not (anybody or self.ledger.knows(holds)):
                return True
            came.taken.append(self._into_a_book(path, str(name), digest, contents, holds))
        except errors.NotWritten:
            raise
        except (pack.BadPack, errors.FileTrouble) as error:
            came.refused.append(Refused(str(name), _plain(error)))
        except errors.NotABook as error:
            book = Path(str(error.values["file"])).name
            why = _("the office's book {file} cannot be read: weldcal office lake", file=book)
            came.refused.append(Refused(str(name), why))
        return False

    def _into_a_book(
        self, path: Path, name: str, digest: str, contents: packing.PackRead, holds: Holds
    ) -> PackTaken:
        book = self._home(holds)
        with closing(Book(self.path_of(book))) as target:
            merged = target.recording.packing.merge(path, already=contents)
        self.ledger.note(book, holds, (digest, name))
        return PackTaken(name, book, merged.new, merged.known, merged.photos, len(merged.forks))

    def _home(self, holds: Holds) -> str:
        """The book these belong in; books that turn out to belong together are merged."""
        homes = self.ledger.with_any(holds)
        if not homes:
            return f"{min(holds.devices, default='empty')}.sqlite"
        for other in homes[1:]:
            self._join(other, homes[0])
        return homes[0]

    def _missing(self, came: _Came) -> list[tuple[str, int, int]]:
        missing: list[tuple[str, int, int]] = []
        for book in sorted({taken.book for taken in came.taken}):
            with closing(Book(self.path_of(book))) as target:
                missing += target.recording.packing.missing()
        return missing

    # -- books that belong together ----------------------------------------------------------

    def _join(self, book: str, into: str) -> None:
        """Take a whole book into another one, then drop its file."""
        self._move(self.path_of(book), into)
        self.ledger.move(book, into)
        _drop(self.path_of(book))

    def _move(self, source: Path, into: str) -> None:
        carried = self.folder / "moving.weldpack"
        carried.unlink(missing_ok=True)
        try:
            with closing(Book(source)) as book:
                book.recording.packing.pack(carried)
            with closing(Book(self.path_of(into))) as target:
                target.recording.packing.merge(carried)
        finally:
            carried.unlink(missing_ok=True)

    def _put_right(self) -> None:
        """Note books that the list does not have: the power went before they were noted."""
        listed = set(self.ledger.books())
        for path in sorted(self.books.glob("*.sqlite")):
            if path.name in listed:
                continue
            holds = _holds_of_book(path)
            if not holds.devices:  # made, and nothing taken in
                _drop(path)
                continue
            homes = self.ledger.with_any(holds)
            if homes:
                self._move(path, homes[0])
                self.ledger.note(homes[0], holds)
                _drop(path)
            else:
                self.ledger.note(path.name, holds)


@contextmanager
def _room(books: Path) -> Iterator[None]:
    """A disk that refuses is one plain sentence of the office's own.

    Raises:
        NoRoom: it is full, or cannot be written; BookBroken: a book cannot be read.
    """
    try:
        yield
    except errors.NotABook as error:
        raise BookBroken(file=error.values["file"], why=error.values["why"]) from None
    except (errors.BookUnwritable, errors.NotWritten) as error:
        raise NoRoom(file=error.values["file"], why=error.values["why"]) from None
    except errors.BookSilent as error:  # typed again, what was not recorded follows
        raise NoRoom(file=error.values["file"], why=_("the disk does not answer")) from None
    except OSError as error:
        raise NoRoom(file=books, why=errors.reason(error)) from None


class _Came:
    """What was taken in so far."""

    def __init__(self) -> None:
        self.taken: list[PackTaken] = []
        self.refused: list[Refused] = []
        self.before = 0


def holds_of(entries: list[Entry]) -> Holds:
    """The devices, jobs and people of entries."""
    jobs = {e.job: "" for e in entries if e.job}
    jobs |= {e.about: str(e.payload.get("name", "")) for e in entries if e.kind == "job"}
    people = {e.who for e in entries}
    people |= {str(e.payload.get("name", "")) for e in entries if e.kind == "person"}
    return Holds(frozenset(e.device for e in entries), jobs, folded(people))


def _holds_of_book(path: Path) -> Holds:
    with store.trouble(path), closing(store.open_existing(path, write=False)) as connection:
        rows = connection.execute("SELECT body, hash FROM entries")
        return holds_of([Entry(body, digest) for body, digest in rows])


def _stranger(path: Path, name: Path) -> Stranger:
    holds = holds_of(packing.read(path).entries)
    people = tuple(sorted(holds.people.values()))
    jobs = tuple(PackedJob(key, called, people) for key, called in sorted(holds.jobs.items()))
    return Stranger(str(name), jobs, people)


def _files(folder: Path, office: Path) -> list[Path]:
    """What lies in a folder, in order; without hidden files and those half written."""
    try:
        files = sorted(path for path in folder.rglob("*") if path.is_file())
    except OSError as error:
        raise errors.FileTrouble(file=folder, why=errors.reason(error)) from None
    if not folder.is_dir():
        raise errors.FileTrouble(file=folder, why=_("there is no such folder"))
    inside = office.resolve()
    return [
        path
        for path in files
        if not path.name.startswith(".")
        and path.suffix != ".part"
        and inside not in path.resolve().parents
    ]


def _packs_and_others(files: list[Path]) -> tuple[list[Path], list[Path]]:
    """Packs, and files that are not: neither the name nor the first bytes of a pack."""
    packs = [path for path in files if path.suffix == _SUFFIX or _begins_as_a_pack(path)]
    return packs, sorted(set(files) - set(packs))


def _begins_as_a_pack(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(pack.GZIP)) == pack.GZIP
    except OSError:
        return True  # it is named with why when it is to be read


def _digest(path: Path) -> str:
    """The SHA-256 of a file that begins as a pack does.

    Raises:
        BadPack, FileTrouble: it is none, or cannot be read.
    """
    if not _begins_as_a_pack(path):
        raise pack.BadPack(file=path.name, why=_("it is no pack"))
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise errors.FileTrouble(file=path.name, why=errors.reason(error)) from None


def _plain(error: errors.WeldcalError) -> str:
    return str(error.values.get("why", error))


def _drop(path: Path) -> None:
    """Remove a book's file and what lies beside it."""
    for companion in path.parent.glob(f"{path.name}?*"):
        if companion.is_dir():
            shutil.rmtree(companion, ignore_errors=True)
        else:
            with suppress(OSError):
                companion.unlink()
    path.unlink(missing_ok=True)
