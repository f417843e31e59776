"""The lake filled from books: the derived tables, and what each job says to the office's questions.

Invariant: a job is written anew only where its book got new entries, or a file of it is not whole.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from weldcal.book import Book, device
from weldcal.book.firmwide import FACTS, facts
from weldcal.errors import BookTrouble, NotABook
from weldcal.long_work import Progress, no_progress
from weldcal.office.lake import Columns, JobFiles, Lake, form
from weldcal.row_types.listed import JobRow
from weldcal.tables.schema import TABLES
from weldcal.views.office import Filled, Refused
from weldcal.words import _

Rows = Sequence[tuple[Any, ...]]
_WHEN = ("day", "seen_utc", "done_utc", "entered_utc", "from_utc")


def fill(
    lake: Lake,
    books: Sequence[Path],
    *,
    deep: bool,
    all_or_none: bool = False,
    on_progress: Progress = no_progress,
) -> Filled:
    """Bring the lake up to the books; one that cannot be read is told, and the rest written.

    Args:
        lake: the files.
        books: the books' files.
        deep: look into every file, not only at its size.
        all_or_none: a book that cannot be read ends it.
        on_progress: called with how far it is.

    Raises:
        BookTrouble: where `all_or_none`.
        NotWritten: the lake cannot be written.
    """
    broken = lake.faults(deep=deep)
    written, mended, unread = 0, 0, []
    for n, path in enumerate(books):
        on_progress(_("books"), n, len(books))
        try:
            for job in _changed(lake, path, broken):
                _write(lake, path, job)
                written, mended = written + 1, mended + (job.job in broken)
        except BookTrouble as error:
            if all_or_none:
                raise
            unread.append(Refused(path.name, str(error.values.get("why", error))))
    lake.tidy()
    total = len(lake.jobs())
    return Filled(written, total - written, mended, total, tuple(unread))


def _changed(lake: Lake, path: Path, broken: set[str]) -> list[JobFiles]:
    """The jobs of a book that the lake does not hold as they are, without their files.

    Raises:
        BookTrouble: the book cannot be read, or is not there.
    """
    if not path.exists():
        raise NotABook(file=path, why=_("there is no such file or folder"))
    with closing(Book(path)) as book:
        mark = _mark(book)
        jobs = book.reader.select(JobRow, "SELECT * FROM jobs ORDER BY tick, device")
        own = device.all_here(book.reader.reading())
    found = []
    for job in jobs:
        known = lake.jobs().get(job["id"])
        if known is None or known.mark != mark or job["id"] in broken:
            home = "" if job["device"] in own else job["device"]
            place = (home, job["tick"], job["device"])
            found.append(JobFiles(form(), job["id"], job["name"], mark, *place, ()))
    return found


def _mark(book: Book) -> str:
    """Of all that a book's rows follow from."""
    total = hashlib.sha256()
    for (kept,) in book.reader.reading().execute("SELECT hash FROM entries ORDER BY tick, hash"):
        total.update(kept.encode())
    return total.hexdigest()


def _write(lake: Lake, path: Path, job: JobFiles) -> None:
    with closing(Book(path, job=job.job)) as book, book.snapshot():
        lake.write_job(job, _tables(book, job.job))


def _tables(book: Book, job: str) -> Iterator[tuple[str, Columns, str, Rows]]:
    """Every table's rows of a job by year; those without a day are of the year its work began."""
    job_facts = facts(book)
    year = (job_facts.roofs[0]["first_day"] or "none")[:4]
    for name, columns in TABLES.items():
        mine = "id" if name == "jobs" else "job"
        listed = ", ".join(f'"{column}"' for column in columns)
        found = book.reader.reading().execute(
            f'SELECT {listed} FROM "{name}" WHERE {mine} = ? ORDER BY id', (job,)
        )
        yield from _by_year(name, columns, [tuple(row) for row in found], year)
    for name, columns in FACTS.items():
        rows = [tuple(row.get(column) for column in columns) for row in job_facts.rows(name)]
        yield from _by_year(name, columns, rows, year)


def _by_year(
    name: str, columns: Columns, rows: Rows, usual: str
) -> Iterator[tuple[str, Columns, str, Rows]]:
    when = next((n for n, column in enumerate(columns) if column in _WHEN), None)
    found: dict[str, list[tuple[Any, ...]]] = {}
    for row in rows:
        year = str(row[when])[:4] if when is not None and row[when] else usual
        found.setdefault(year if year.isdecimal() else "none", []).append(row)
    for year, mine in sorted(found.items()):
        yield name, columns, year, mine
