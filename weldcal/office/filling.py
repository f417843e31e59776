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
from weldcal.long_work import Progress, no_progress
from weldcal.office.lake import Columns, JobFiles, Lake, form
from weldcal.row_types import JobRow
from weldcal.tables.schema import TABLES
from weldcal.views.office import Filled
from weldcal.words import _

Rows = Sequence[tuple[Any, ...]]
_WHEN = ("day", "seen_utc", "done_utc", "entered_utc", "from_utc")


def fill(
    lake: Lake, books: Sequence[Path], *, deep: bool, on_progress: Progress = no_progress
) -> Filled:
    """Bring the lake up to the books.

    Args:
        lake: the files.
        books: the books' files.
        deep: look into every file, not only at its size.
        beat: hears how far it is.
    """
    broken = lake.faults(deep=deep)
    before, written, mended = dict(lake.jobs()), 0, 0
    for n, path in enumerate(books):
        on_progress(_("books"), n, len(books))
        if not path.exists():
            continue
        with closing(Book(path)) as book:
            mark = _mark(book)
            jobs = book.reader.select(JobRow, "SELECT * FROM jobs ORDER BY tick, device")
            own = device.all_here(book.reader.reading())
        for job in jobs:
            known = before.get(job["id"])
            if known and known.mark == mark and job["id"] not in broken:
                continue
            mended += job["id"] in broken
            home = "" if job["device"] in own else job["device"]
            place = (home, job["tick"], job["device"])
            _write(lake, path, JobFiles(form(), job["id"], job["name"], mark, *place, ()))
            written += 1
    lake.tidy()
    total = len(lake.jobs())
    return Filled(written, total - written, mended, total)


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
    told = facts(book)
    year = (told.roofs[0]["first_day"] or "none")[:4]
    for name, columns in TABLES.items():
        mine = "id" if name == "jobs" else "job"
        listed = ", ".join(f'"{column}"' for column in columns)
        found = book.reader.reading().execute(
            f'SELECT {listed} FROM "{name}" WHERE {mine} = ? ORDER BY id', (job,)
        )
        yield from _by_year(name, columns, [tuple(row) for row in found], year)
    for name, columns in FACTS.items():
        rows = [tuple(row.get(column) for column in columns) for row in told.rows(name)]
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
