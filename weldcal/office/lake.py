"""The office's tables as Parquet files, partitioned by year and job, on any fsspec path.

    ROOT/tables/TABLE/year=2026/job=ID/HASH.parquet    rows of one table, year and job
    ROOT/jobs/ID.json                                  which of them count: the job's list

Invariant: a file is named by its content, and counts when the job's list, written last, names it
with its size: a job is there as it was, or as it is now, never in between. Files are made beside
and renamed; one that is half there does not have the size that the list says, and is rebuilt.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from typing import Any

import msgspec
from msgspec import Struct

from weldcal.book.firmwide import FACTS
from weldcal.errors import FileTrouble, NotWritten, WeldcalError, reason
from weldcal.office.extra import needed
from weldcal.tables.schema import SCHEMA_VERSION, TABLES
from weldcal.words import _, mark

_FORM = 1
_ID = r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
_LIST = re.compile(rf"jobs/{_ID}\.json")
_OURS = re.compile(
    rf"(?:{_LIST.pattern}|tables/[a-z_]+/year=(?:\d+|none)/job={_ID}/[0-9a-f]{{16}}\.parquet)"
    r"(?:\.\d+\.part)?$"
)
Columns = Mapping[str, type]
_TYPES = {str: "string", int: "int64", float: "float64"}


def form() -> str:
    """The version of the lists and of every table's columns: files of another are rebuilt."""
    tables = {name: list(columns) for name, columns in {**TABLES, **FACTS}.items()}
    digest = hashlib.sha256(msgspec.json.encode([_FORM, SCHEMA_VERSION, tables])).hexdigest()
    return f"{_FORM}-{SCHEMA_VERSION}-{digest[:12]}"


class LakeBroken(FileTrouble):
    """A lake of which a job's list or a file cannot be read: no question is answered from the rest."""

    sentence = mark(
        "{file} is not whole: files of some jobs cannot be read. Type: weldcal office lake --check"
    )


class NoSuchPath(FileTrouble):
    """A kind of path that fsspec does not know, or not without a library more."""

    sentence = mark(
        "{file}: such a path cannot be used here ({what}). "
        "Type a folder, or install what such paths need."
    )


class LakeFile(Struct, frozen=True):
    """A file of the lake: `path` from its root; the size and SHA-256 it must have."""

    table: str
    year: str
    path: str
    rows: int
    size: int
    sha256: str


class JobFiles(Struct, frozen=True):
    """A job's list.

    Attributes:
        form: as `form` says.
        mark: changes where anything the job's rows follow from does.
        home: the device that began the job; names of things go on among jobs of one home.
        tick, device: of its first entry: jobs are in that order.
    """

    form: str
    job: str
    name: str
    mark: str
    home: str
    tick: int
    device: str
    files: tuple[LakeFile, ...]


class Lake:
    """The files, on a path."""

    def __init__(self, url: str) -> None:
        """Name a lake; nothing is made yet.

        Raises:
            NoExtra: the extra is not installed.
            NoSuchPath: there is no such kind of path, or its library is not installed.
        """
        self.url = url
        fsspec = needed("fsspec")
        try:
            self.fs, base = fsspec.core.url_to_fs(url)
        except (ImportError, ValueError, OSError) as error:
            raise NoSuchPath(file=url, what=str(error)) from None
        self.base = base.rstrip("/")
        protocol = self.fs.protocol if isinstance(self.fs.protocol, str) else self.fs.protocol[0]
        self.local = protocol in ("file", "local")
        self.prefix = "" if self.local else f"{protocol}://"
        self._lists: dict[str, JobFiles] | None = None
        self._unread: list[str] = []

    # -- reading -----------------------------------------------------------------------------

    def jobs(self) -> dict[str, JobFiles]:
        """Every job's list, by its id, in order; one that cannot be read counts as none."""
        if self._lists is None:
            self._lists = {job.job: job for job in self._read_lists()}
        return self._lists

    def _read_lists(self) -> Iterator[JobFiles]:
        now = form()
        with trouble(self.url):
            folder = f"{self.base}/jobs"
            names = sorted(self.fs.find(folder)) if self.fs.exists(folder) else []
            for name in names:
                if not _LIST.fullmatch(name.removeprefix(f"{self.base}/")):
                    continue
                try:
                    listed = msgspec.json.decode(self.fs.cat_file(name), type=JobFiles)
                except msgspec.MsgspecError:
                    listed = None
                if listed is not None and listed.form == now:
                    yield listed
                else:
                    self._unread.append(name)

    def must_be_whole(self, *, deep: bool = False) -> None:
        """Refuse a lake of which a job's list cannot be read, or is of another version.

        Args:
            deep: look at the files as well.

        Raises:
            LakeBroken: it is not whole.
        """
        self.jobs()  # reads the lists
        if self._unread or (deep and self.faults(deep=True)):
            raise LakeBroken(file=self.url)

    def files(self, table: str) -> list[str]:
        """The files of a table that count, as DuckDB and Arrow name them.

        DuckDB checks no page of a file, so on a disk here each is held to its hash first; from
        afar every file would come twice.

        Raises:
            LakeBroken: one is not what was written.
        """
        listed = [f for job in self.jobs().values() for f in job.files if f.table == table]
        if self.local:
            try:
                as_written = all(self._hash(file) == file.sha256 for file in listed)
            except OSError:
                as_written = False
            if not as_written:
                raise LakeBroken(file=self.url)
        return [f"{self.prefix}{self.base}/{file.path}" for file in listed]

    def faults(self, *, deep: bool = False) -> set[str]:
        """Jobs of which a file is not there, not whole, or (where `deep`) not what it was."""
        with trouble(self.url):
            sizes = self._sizes()
            return {
                job.job
                for job in self.jobs().values()
                for file in job.files
                if sizes.get(f"{self.base}/{file.path}") != file.size
                or (deep and self._hash(file) != file.sha256)
            }

    def _sizes(self) -> dict[str, int]:
        folder = f"{self.base}/tables"
        if not self.fs.exists(folder):
            return {}
        files = self.fs.find(folder, detail=True)
        return {name: int(details["size"]) for name, details in files.items()}

    def _hash(self, file: LakeFile) -> str:
        return hashlib.sha256(self.fs.cat_file(f"{self.base}/{file.path}")).hexdigest()

    # -- writing -----------------------------------------------------------------------------

    def write_job(
        self,
        job: JobFiles,
        tables: Iterable[tuple[str, Columns, str, Sequence[tuple[Any, ...]]]],
    ) -> JobFiles:
        """Write a job's tables, then its list; then drop what no longer counts.

        Args:
            job: the job; its files are filled in here.
            tables: name, columns, year and rows.

        Raises:
            NotWritten: a file cannot be written; what was there before still counts.
        """
        files = []
        with trouble(self.url, writing=True):
            for table, columns, year, rows in tables:
                data = _parquet(columns, rows)
                digest = hashlib.sha256(data).hexdigest()
                path = f"tables/{table}/year={year}/job={job.job}/{digest[:16]}.parquet"
                self._put(path, data)
                files.append(LakeFile(table, year, path, len(rows), len(data), digest))
            written = msgspec.structs.replace(job, files=tuple(files))
            self._put(f"jobs/{job.job}.json", msgspec.json.encode(written))
            before = self.jobs().get(job.job)
            self.jobs()[job.job] = written
            counted = {file.path for file in files}
            for file in before.files if before else ():
                if file.path not in counted:
                    with suppress(FileNotFoundError):
                        self.fs.rm_file(f"{self.base}/{file.path}")
        return written

    def put(self, path: str, data: bytes) -> None:
        """Write one file of the lake, whole or not at all.

        Raises:
            NotWritten: it cannot be written.
        """
        with trouble(self.url, writing=True):
            self._put(path, data)

    def get(self, path: str) -> bytes | None:
        """One file of the lake; None where there is none."""
        with trouble(self.url):
            name = f"{self.base}/{path}"
            return bytes(self.fs.cat_file(name)) if self.fs.exists(name) else None

    def _put(self, path: str, data: bytes) -> None:
        name = f"{self.base}/{path}"
        self.fs.makedirs(name.rpartition("/")[0], exist_ok=True)
        part = f"{name}.{os.getpid()}.part"
        with self.fs.open(part, "wb") as file:
            file.write(data)
            file.flush()
            with suppress(AttributeError, OSError, io.UnsupportedOperation):
                os.fsync(file.fileno())  # a file of this machine; others answer when all is there
        self.fs.mv(part, name)

    def tidy(self) -> int:
        """Drop files that no list names, left where the power went, and lists that no book
        renewed; how many there were. What is not named as ours are stays: a folder may have been
        mistaken for another."""
        with trouble(self.url, writing=True):
            renewed = {f"{self.base}/jobs/{job}.json" for job in self.jobs()}
            lists, self._unread = set(self._unread) - renewed, []
            counted = {
                f"{self.base}/{file.path}"
                for job_files in self.jobs().values()
                for file in job_files.files
            }
            left = [
                name
                for name in (*sorted(lists), *self._sizes())
                if name not in counted and _OURS.match(name.removeprefix(f"{self.base}/"))
            ]
            for name in left:
                self.fs.rm_file(name)
            return len(left)


def _parquet(columns: Columns, rows: Sequence[tuple[Any, ...]]) -> bytes:
    """Rows as one Parquet file, typed as the tables are."""
    pa, pq = needed("pyarrow"), needed("pyarrow.parquet")
    by_column = list(zip(*rows, strict=True)) if rows else [()] * len(columns)
    arrays = [
        pa.array(values, type=pa.type_for_alias(_TYPES[kind]))
        for values, kind in zip(by_column, columns.values(), strict=True)
    ]
    sink = io.BytesIO()
    pq.write_table(pa.table(arrays, names=list(columns)), sink, compression="zstd")
    return sink.getvalue()


@contextmanager
def trouble(url: str, *, writing: bool = False) -> Iterator[None]:
    """Turn a file system's errors into one plain sentence.

    Raises:
        NotWritten, FileTrouble: with why.
    """
    try:
        yield
    except WeldcalError:
        raise
    except (OSError, ValueError) as error:
        kind = NotWritten if writing else FileTrouble
        raise kind(file=url, why=reason(error) or _("it cannot be read")) from None
