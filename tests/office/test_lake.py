"""The tables as Parquet files: typed, whole or not there, found broken and made anew."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from weldcal.book.firmwide import FACTS
from weldcal.tables.schema import TABLES

Crew = Callable[..., Path]
TYPES = {str: "string", int: "int64", float: "double"}


@pytest.fixture(autouse=True)
def _office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for library in ("pyarrow", "fsspec"):
        pytest.importorskip(library, reason="needs the extra: pip install 'weldcal[office]'")
    monkeypatch.setenv("WELDCAL_OFFICE", str(tmp_path / "office"))


@pytest.fixture
def office(weldcal: Any, crew: Crew) -> Any:
    """Two crews' packs taken in and written as files."""
    crew("Mill roof", "Ana Ruiz")
    packs = crew("Barn roof", "Cy Dunn").parent
    weldcal.ok("office", "take", str(packs))
    assert weldcal.ok("office lake --json").json["written"] == 2
    return weldcal


def files(root: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(root)): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file()
    }


def test_every_table_is_there_typed_and_with_the_books_rows(office: Any, tmp_path: Path) -> None:
    """Read by Arrow alone, beside the books read by sqlite3 alone."""
    import pyarrow.parquet as pq

    lake = tmp_path / "office" / "lake"
    for table, columns in TABLES.items():
        kept = []
        for path in sorted((tmp_path / "office" / "books").glob("*.sqlite")):
            with closing(sqlite3.connect(path)) as book:
                names = ", ".join(f'"{c}"' for c in columns)
                mine = "id" if table == "jobs" else "job"
                where = f"WHERE {mine} IS NOT NULL"
                kept += book.execute(f'SELECT {names} FROM "{table}" {where}').fetchall()
        found = []
        for path in sorted((lake / "tables" / table).rglob("*.parquet")):
            read = pq.ParquetFile(path).read()
            assert [str(field.type) for field in read.schema] == [
                TYPES[k] for k in columns.values()
            ]
            found += [tuple(row.values()) for row in read.to_pylist()]
        assert sorted(found, key=repr) == sorted(kept, key=repr), table
    assert {path.name for path in (lake / "tables").iterdir()} <= {*TABLES, *FACTS}


def test_files_lie_by_year_and_job(office: Any, tmp_path: Path) -> None:
    """A job's id and the year of what was seen."""
    lake = tmp_path / "office" / "lake"
    jobs = {path.stem for path in (lake / "jobs").iterdir()}
    places = {path.parent.relative_to(lake).parts for path in lake.rglob("*.parquet")}
    assert {job for *_rest, job in places} == {f"job={job}" for job in jobs}
    assert {year for _tables, _table, year, _job in places} == {"year=2026"}


def test_what_did_not_change_is_not_written_again(office: Any, crew: Crew, tmp_path: Path) -> None:
    """Only the job with a new day; its old files are gone."""
    before = files(tmp_path / "office" / "lake")
    assert office.ok("office lake --json").json["written"] == 0
    assert files(tmp_path / "office" / "lake") == before
    packs = crew("Mill roof", "Ana Ruiz", days=1).parent
    office.ok("office", "take", str(packs))
    done = office.ok("office lake --json").json
    assert (done["written"], done["unchanged"], done["mended"]) == (1, 1, 0)
    after = files(tmp_path / "office" / "lake")
    runs = [name for name in after if name.startswith("tables/runs/")]
    assert len(runs) == 2
    assert sum(before.get(name) == after[name] for name in runs) == 1


@pytest.mark.parametrize("how", ["cut", "gone", "list cut", "flipped"])
def test_a_file_that_is_not_whole_is_made_anew(office: Any, tmp_path: Path, how: str) -> None:
    """As if the power had gone in the middle; a changed byte is found by --check."""
    lake = tmp_path / "office" / "lake"
    before = files(lake)
    victim = next(iter(sorted((lake / "tables" / "runs").rglob("*.parquet"))))
    data = victim.read_bytes()
    if how == "cut":
        victim.write_bytes(data[: len(data) // 2])
    elif how == "gone":
        victim.unlink()
    elif how == "flipped":
        victim.write_bytes(data[:40] + bytes([data[40] ^ 1]) + data[41:])
    else:
        one = next(iter(sorted((lake / "jobs").iterdir())))
        one.write_bytes(one.read_bytes()[:40])
    victim.with_name(f"{victim.name}.77.part").write_bytes(b"half")
    done = office.ok("office lake --check --json").json
    assert done["written"] == 1
    assert done["mended"] == (how != "list cut")
    assert files(lake) == before
    if how == "cut":
        victim.write_bytes(data[:9])
        said = office.ok("office lake").out
        assert "1 job had files that were not whole; they were made anew." in " ".join(said.split())


@pytest.mark.parametrize("how", ["cut", "gone", "flipped", "list cut", "another version's list"])
def test_no_question_is_answered_from_what_is_left(office: Any, tmp_path: Path, how: str) -> None:
    """Half written, or one bit of it turned, and nobody has mended it yet: one line that says what
    to type, then it serves."""
    pytest.importorskip("duckdb", reason="needs the extra: pip install 'weldcal[office]'")
    lake = tmp_path / "office" / "lake"
    before = files(lake)
    listed = next(iter(sorted((lake / "jobs").iterdir())))
    victim = next(iter(sorted((lake / "tables" / "roofs").rglob("*.parquet"))))
    data = victim.read_bytes()
    if how == "cut":
        victim.write_bytes(data[:300])
    elif how == "gone":
        victim.unlink()
    elif how == "flipped":  # in the last value of the file's own description: its pages are whole
        at = data.rindex(b"parquet-cpp")
        victim.write_bytes(data[:at] + b"q" + data[at + 1 :])
    elif how == "list cut":
        listed.write_bytes(listed.read_bytes()[:200])
        listed.with_name(f"{uuid.UUID(int=7)}.json").write_bytes(b"{")  # of no book
    else:
        listed.write_bytes(listed.read_bytes().replace(b'"form":"1-', b'"form":"0-'))
    done = office("office roofs")
    assert (done.code, done.out) == (2, "")
    assert "not whole" in done.err
    assert "Type: weldcal office lake --check" in " ".join(done.err.split())
    office.ok("office lake --check")
    assert files(lake) == before
    assert len(office.ok("office roofs --json").json["roofs"]) == 2


def test_a_folder_that_is_something_else_loses_nothing(office: Any, tmp_path: Path) -> None:
    """Somebody's project with tables and jobs of its own is given as the lake."""
    mine = {"tables/prices.csv": b"1", "jobs/monday.json": b"{}", "tables/runs/plan.parquet": b"2"}
    for name, data in mine.items():
        (tmp_path / "project" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "project" / name).write_bytes(data)
    assert office.ok(f"office lake --check --lake {tmp_path / 'project'} --json").json["jobs"] == 2
    left = files(tmp_path / "project")
    assert {name: left[name] for name in mine} == mine
    whole = files(tmp_path / "office" / "lake")
    assert {name: left[name] for name in left if name not in mine} == whole


def test_an_office_without_packs_says_what_to_type(weldcal: Any) -> None:
    """One line."""
    done = weldcal("office lake")
    assert done.code == 2
    assert "No pack yet. Take them in: weldcal office take FOLDER" in done.err


def test_files_of_another_version_are_made_anew(office: Any, tmp_path: Path) -> None:
    """A column more or less is another version: until then the lake says that it is empty."""
    lake = tmp_path / "office" / "lake"
    before = files(lake)
    for path in (lake / "jobs").iterdir():
        path.write_bytes(path.read_bytes().replace(b'"form":"1-', b'"form":"0-'))
    done = office("office roofs")
    assert done.code == 2
    assert "weldcal office lake" in done.err
    assert office.ok("office lake --json").json["written"] == 2
    assert files(lake) == before


def test_any_path_that_fsspec_knows(office: Any, tmp_path: Path) -> None:
    """The memory of this process stands for a bucket; the same files."""
    import fsspec

    office.ok("office lake --lake memory://firm")
    fs = fsspec.filesystem("memory")
    found = {name.removeprefix("/firm/"): fs.cat_file(name) for name in fs.find("/firm")}
    try:
        assert found == files(tmp_path / "office" / "lake")
    finally:
        fs.rm("/firm", recursive=True)


def test_a_path_that_cannot_be_is_one_plain_line(office: Any, frozen: Any, tmp_path: Path) -> None:
    """No such kind of path."""
    done = office("office lake --lake nonsense://x")
    assert done.code == 2
    assert len(done.err.splitlines()) == 1
    (tmp_path / "a file").write_text("x")
    done = office("office", "lake", "--lake", str(tmp_path / "a file"))
    assert done.code == 2
    assert "cannot be written" in done.err


def test_a_full_disk_is_one_plain_line_and_what_was_there_counts(
    office: Any, crew: Crew, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk fills at the third file of a new day."""
    import errno

    from weldcal.office.lake import Lake

    packs = crew("Mill roof", "Ana Ruiz", days=1).parent
    office.ok("office", "take", str(packs))
    put, times = Lake._put, []

    def full(self: Any, path: str, data: bytes) -> None:
        times.append(1)
        if len(times) == 3:
            raise OSError(errno.ENOSPC, "full")
        put(self, path, data)

    monkeypatch.setattr(Lake, "_put", full)
    done = office("office lake")
    (line,) = done.err.splitlines()
    assert done.code == 2
    assert "the disk is full" in line
    monkeypatch.setattr(Lake, "_put", put)
    again = office.ok("office lake --json").json
    assert (again["written"], again["unchanged"]) == (1, 1)


def test_without_the_extra_it_says_what_to_install(
    weldcal: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line, exit code 2."""
    import sys

    monkeypatch.setitem(sys.modules, "fsspec", None)
    done = weldcal("office lake")
    assert done.code == 2
    (line,) = done.err.splitlines()
    assert "pip install 'weldcal[office]'" in line


@pytest.mark.parametrize("how", ["cut", "gone"])
def test_a_damaged_book_is_named_and_the_rest_written(
    office: Any, crew: Crew, tmp_path: Path, how: str
) -> None:
    """Its jobs' tables stay as they were; what is said to be done helps."""
    books = sorted((tmp_path / "office" / "books").glob("*.sqlite"))
    before = files(tmp_path / "office" / "lake")
    packs = [crew(*who, days=1) for who in (("Mill roof", "Ana Ruiz"), ("Barn roof", "Cy Dunn"))]
    office.ok("office", "take", str(packs[0].parent))
    books[0].write_bytes(books[0].read_bytes()[:5000]) if how == "cut" else books[0].unlink()
    done = office("office lake")
    assert (done.code, done.err) == (1, "")
    said = " ".join(done.out.split())
    assert f"NOT READ: the office's book {books[0].name}: " in said
    assert "written anew: 1, as they were: 1" in said
    after = files(tmp_path / "office" / "lake")
    assert {name for name in before if name in after}  # of the job whose book is not read
    third = crew("Mill roof", "Ana Ruiz", days=2), crew("Barn roof", "Cy Dunn", days=2)
    if how == "cut":
        came = office("office", "take", str(third[0].parent))
        assert came.code == 1
        assert f"the office's book {books[0].name} cannot be read" in " ".join(came.out.split())
    for file in (*books[0].parent.glob(f"{books[0].name}*"), tmp_path / "office" / "office.sqlite"):
        file.unlink()
    office.ok("office", "take", str(third[0].parent))
    assert office.ok("office lake --json").json["unread"] == []
    assert office.ok("office lake --json").json["jobs"] == 2


def test_the_offices_list_is_made_anew(office: Any, crew: Crew, tmp_path: Path) -> None:
    """Overwritten by something else: one line says so, and typing that helps."""
    kept = tmp_path / "office" / "office.sqlite"
    kept.write_text("call Ana")
    for line in ("office lake", f"office take {tmp_path}"):
        assert "Move it out of the office's folder" in office.refused(line)
    kept.unlink()
    office.ok("office", "take", str(crew("Mill roof", "Ana Ruiz", days=1).parent))
    assert office.ok("office lake --json").json["jobs"] == 2
