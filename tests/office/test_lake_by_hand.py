"""The lake's files by themselves: written, listed, found broken, dropped; rows made by hand."""

from __future__ import annotations

import re
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from msgspec import structs

from weldcal.errors import FileTrouble, NotWritten
from weldcal.office import extra, filling
from weldcal.office.lake import JobFiles, Lake, LakeBroken, form, trouble
from weldcal.views.office import Filled

J1, J2 = (f"00000000-0000-7000-8000-00000000000{n}" for n in (1, 2))
COLUMNS: dict[str, type] = {"id": str, "day": str, "n": int, "x": float}
ROWS = [("a", "2026-06-01", 1, 0.5), ("b", None, None, None)]


@pytest.fixture(autouse=True)
def _extra() -> None:
    for library in ("pyarrow", "fsspec"):
        pytest.importorskip(library, reason="needs the extra: pip install 'weldcal[office]'")


def listed(job: str, tick: int = 1) -> JobFiles:
    """A job's list, its files still to come."""
    return JobFiles(form(), job, f"Roof {job}", "m", "", tick, "d1", ())


@pytest.fixture
def lake(tmp_path: Path) -> Lake:
    """Two jobs: of the first two tables in two years, of the second one."""
    lake = Lake(str(tmp_path / "lake"))
    one = lake.write_job(
        listed(J1),
        [
            ("runs", COLUMNS, "2026", ROWS),
            ("runs", COLUMNS, "2025", ROWS[:1]),
            ("laps", COLUMNS, "2026", []),
        ],
    )
    lake.write_job(listed(J2), [("runs", COLUMNS, "2026", ROWS[:1])])
    assert [(file.table, file.year, file.rows) for file in one.files] == [
        ("runs", "2026", 2),
        ("runs", "2025", 1),
        ("laps", "2026", 0),
    ]
    return lake


def test_the_form_says_its_versions() -> None:
    """The list's, the tables', and twelve signs of all columns."""
    from weldcal.tables.schema import SCHEMA_VERSION

    assert re.fullmatch(rf"1-{SCHEMA_VERSION}-[0-9a-f]{{12}}", form())


def test_what_is_written_is_read_by_anybody(lake: Lake, tmp_path: Path) -> None:
    """Named by table, year, job and content; typed; an empty table has its columns."""
    import pyarrow.parquet as pq

    runs = lake.files("runs")
    assert [Path(name).relative_to(tmp_path / "lake").parts[:-1] for name in runs] == [
        ("tables", "runs", "year=2026", f"job={J1}"),
        ("tables", "runs", "year=2025", f"job={J1}"),
        ("tables", "runs", "year=2026", f"job={J2}"),
    ]
    found = pq.ParquetFile(runs[0]).read()
    assert [str(field.type) for field in found.schema] == ["string", "string", "int64", "double"]
    assert [tuple(row.values()) for row in found.to_pylist()] == ROWS
    (empty,) = lake.files("laps")
    assert pq.ParquetFile(empty).read().column_names == list(COLUMNS)
    assert lake.files("none") == []
    again = Lake(str(tmp_path / "lake") + "/")
    assert list(again.jobs()) == [J1, J2]
    assert again.jobs() == lake.jobs()
    assert list(tmp_path.rglob("*.part")) == []


def test_files_beside_the_lists_are_no_lists(lake: Lake, tmp_path: Path) -> None:
    """Half written, or somebody's: neither a job nor a reason to refuse."""
    (tmp_path / "lake/jobs/j3.json.77.part").write_bytes(b"{")
    (tmp_path / "lake/jobs/notes.txt").write_text("call Ana")
    again = Lake(lake.url)
    assert list(again.jobs()) == [J1, J2]
    again.must_be_whole(deep=True)


@pytest.mark.parametrize("how", ["cut", "another form", "of none"])
def test_a_list_that_cannot_be_read_is_refused_until_it_is_dropped(
    lake: Lake, tmp_path: Path, how: str
) -> None:
    """A question asks for all of them; who fills the lake drops it, or has made it anew."""
    path = tmp_path / f"lake/jobs/{J2}.json"
    if how == "another form":
        path.write_bytes(msgspec.json.encode(msgspec.structs.replace(lake.jobs()[J2], form="0")))
    else:
        path.write_bytes(b"{" if how == "cut" else b"null")
    again = Lake(lake.url)
    assert list(again.jobs()) == [J1]
    with pytest.raises(LakeBroken):
        again.must_be_whole()
    assert again.tidy() == 2  # the list, and the file that it named
    assert not path.exists()
    again.must_be_whole()
    assert Lake(lake.url).tidy() == 0


def test_a_list_written_anew_is_not_dropped(lake: Lake, tmp_path: Path) -> None:
    """Cut, then its job is written again, then all is tidied."""
    (tmp_path / f"lake/jobs/{J2}.json").write_bytes(b"{")
    again = Lake(lake.url)
    assert list(again.jobs()) == [J1]
    again.write_job(listed(J2), [("runs", COLUMNS, "2026", ROWS[:1])])
    assert again.tidy() == 0
    assert list(Lake(lake.url).jobs()) == [J1, J2]


def test_a_file_that_is_not_what_it_was_is_found(lake: Lake) -> None:
    """Gone or of another size at a glance; of the same size only where it is looked into."""
    assert lake.faults() == lake.faults(deep=True) == set()
    path = Path(lake.files("runs")[2])
    whole = path.read_bytes()
    path.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    assert (lake.faults(), lake.faults(deep=True)) == (set(), {J2})
    lake.must_be_whole()
    with pytest.raises(LakeBroken):
        lake.must_be_whole(deep=True)
    path.write_bytes(whole[:-1])
    assert lake.faults() == {J2}
    path.unlink()
    assert lake.faults() == {J2}
    lake.must_be_whole()  # the lists are


def test_a_job_written_again_leaves_only_what_counts(lake: Lake, tmp_path: Path) -> None:
    """What is the same stays; what no list names is dropped, and so is what the power left."""
    before = lake.files("runs")
    Path(before[1]).unlink()  # gone already: nothing to drop
    lake.write_job(listed(J1), [("runs", COLUMNS, "2026", ROWS)])
    assert lake.files("runs") == [before[0], before[2]]
    left = {str(path) for path in (tmp_path / "lake/tables").rglob("*.parquet")}
    assert left == {before[0], before[2]}
    half = f"lake/tables/runs/year=2026/job={J1}/0123456789abcdef.parquet.1.part"
    (tmp_path / half).write_bytes(b"half")
    assert lake.tidy() == 1
    assert lake.tidy() == 0


def test_one_file_of_its_own(lake: Lake, tmp_path: Path) -> None:
    """Put whole, read again; none is none; where none can be, it is told."""
    assert lake.get("refits.json") is None
    lake.put("refits.json", b"1")
    lake.put("refits.json", b"22")
    assert lake.get("refits.json") == b"22"
    (tmp_path / "lake/odd.json").mkdir()
    (tmp_path / "lake/text").touch()
    with pytest.raises(NotWritten):
        lake.put("text/refits.json", b"1")
    with pytest.raises(FileTrouble) as said:
        lake.get("odd.json")
    assert type(said.value) is FileTrouble


def test_a_lake_that_nobody_can_write_is_said(tmp_path: Path) -> None:
    """A file stands in its place; reading it there is nothing."""
    (tmp_path / "text").touch()
    lake = Lake(str(tmp_path / "text"))
    assert lake.jobs() == {}
    assert lake.faults() == set()
    assert lake.tidy() == 0
    with pytest.raises(NotWritten):
        lake.write_job(listed(J1), [])
    assert stat.S_ISREG((tmp_path / "text").stat().st_mode)


@pytest.mark.parametrize(("writing", "kind"), [(False, FileTrouble), (True, NotWritten)])
def test_a_systems_errors_are_one_sentence(writing: bool, kind: type[FileTrouble]) -> None:
    """With its own words where it has any; one of ours goes by."""
    for error, why in ((ValueError("odd"), "odd"), (ValueError(), "it cannot be read")):
        with pytest.raises(FileTrouble) as said, trouble("there", writing=writing):
            raise error
        assert type(said.value) is kind
        assert said.value.values == {"file": "there", "why": why}
    with pytest.raises(LakeBroken), trouble("there", writing=writing):
        raise LakeBroken(file="x")
    with pytest.raises(FileTrouble) as said, trouble("there"):
        raise ValueError
    assert type(said.value) is FileTrouble


@pytest.mark.parametrize(
    ("url", "local", "begins"), [("memory://firm", False, "memory:///firm/"), ("{}", True, "/")]
)
def test_where_a_lake_is(tmp_path: Path, url: str, local: bool, begins: str) -> None:
    """Its files are named as who reads them names them."""
    lake = Lake(url.format(tmp_path / "lake"))
    lake.write_job(listed(J1), [("runs", COLUMNS, "2026", ROWS)])
    (name,) = lake.files("runs")
    assert lake.local is local
    assert name.startswith(begins)
    if not local:
        lake.fs.rm("/firm", recursive=True)


def test_a_library_that_is_not_here_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """By what is installed, not by a part of it."""
    assert extra.needed("json.decoder").__name__ == "json.decoder"
    with pytest.raises(extra.NoExtra) as said:
        extra.needed("no_such_library.part.of_it")
    assert said.value.values == {"name": "no_such_library"}


# -- filled from books -----------------------------------------------------------------------------


@pytest.fixture
def job_only(weldcal: Any) -> Callable[[], Path]:
    """Makes a job on this device, nothing welded yet."""

    def made() -> Path:
        weldcal.ok('job new "Mill roof" --units us --zone America/Denver --by "Ana Ruiz"')
        return Path(weldcal.book)

    return made


def test_a_job_is_written_where_its_book_changed(
    weldcal: Any, tmp_path: Path, job_only: Callable[[], Path]
) -> None:
    """Once; again where a file is not whole, and only then is it mended. A book that is gone is
    named. Who watches hears of each."""
    book, lake, heard = job_only(), Lake(str(tmp_path / "lake")), []

    def hear(*told: object) -> None:
        heard.append(told)

    books = [tmp_path / "gone.sqlite", book]
    found = filling.fill(lake, books, deep=False, on_progress=hear)
    (unread,) = found.unread
    assert unread.file == "gone.sqlite"
    assert structs.replace(found, unread=()) == Filled(1, 0, 0, 1)
    books = [book]
    assert [told[1:] for told in heard] == [(0, 2), (1, 2)]
    (found,) = lake.jobs().values()
    assert found.home == ""
    assert {file.year for file in found.files} == {"none"}
    assert filling.fill(lake, books, deep=False) == Filled(0, 1, 0, 1)
    data = Path(lake.files("jobs")[0])
    whole = data.read_bytes()
    data.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    assert filling.fill(lake, books, deep=False) == Filled(0, 1, 0, 1)
    assert filling.fill(lake, books, deep=True) == Filled(1, 0, 1, 1)
    assert data.read_bytes() == whole
    data.unlink()
    assert filling.fill(lake, books, deep=False) == Filled(1, 0, 1, 1)
    weldcal.ok('conditions --ambient 61F --by "Ana Ruiz"')
    assert filling.fill(lake, books, deep=False) == Filled(1, 0, 0, 1)
    (found,) = lake.jobs().values()
    assert "2026" in {file.year for file in found.files}
    (jobs,) = lake.files("jobs")
    assert "year=" in jobs


def test_another_devices_job_has_that_device_as_its_home(
    weldcal: Any, tmp_path: Path, job_only: Callable[[], Path]
) -> None:
    """Merged from its pack into a book of another laptop."""
    first = job_only()
    weldcal.ok("pack", str(tmp_path / "p.weldpack"))
    weldcal.book = tmp_path / "office.sqlite"
    weldcal.ok("merge", str(tmp_path / "p.weldpack"))
    here, there = Lake(str(tmp_path / "1")), Lake(str(tmp_path / "2"))
    filling.fill(here, [first], deep=False)
    filling.fill(there, [tmp_path / "office.sqlite"], deep=False)
    (one,), (other,) = here.jobs().values(), there.jobs().values()
    assert (one.home, other.home) == ("", one.device)
    assert (one.job, one.tick, one.device) == (other.job, other.tick, other.device)


@pytest.mark.parametrize(
    ("columns", "rows", "years"),
    [
        ({"id": str, "day": str}, [("a", "2025-12-31"), ("b", None), ("c", "2026-01-01")],
         {"2025": ["a"], "2026": ["b", "c"]}),
        ({"day": str, "id": str}, [("2024-02-29", "a"), ("", "b")], {"2024": ["2024-02-29"], "2026": [""]}),
        ({"id": str, "seen_utc": str}, [("a", "x026-01-01")], {"none": ["a"]}),
        ({"id": str, "n": str}, [("a", "2025-01-01")], {"2026": ["a"]}),
    ],
)  # fmt: skip
def test_rows_lie_by_the_year_they_were_seen_in(
    columns: dict[str, type], rows: list[tuple[Any, ...]], years: dict[str, list[str]]
) -> None:
    """By the first column of a time; without one, by the year the work began."""
    found = list(filling._by_year("t", columns, rows, "2026"))
    assert {year: [row[0] for row in mine] for _t, _c, year, mine in found} == years
    assert [(t, c) for t, c, _y, _m in found] == [("t", columns)] * len(years)
    assert [year for _t, _c, year, _m in found] == sorted(years)
