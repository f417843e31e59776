"""Ctrl-C in the middle of keeping: exit code 130, one line, and nothing half done."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.interrupting import breaks_off_clean
from tests.keeping import forge
from weldcal import long_work
from weldcal.intake import staged


@pytest.fixture(autouse=True)
def _every_step_beats(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(long_work, "_EVERY", 1)
    monkeypatch.setattr(staged, "_AT_ONCE", 1)


@pytest.fixture
def pictured(go_ahead: Any, tmp_path: Path) -> Any:
    """A job with two photos."""
    for n in range(2):
        (tmp_path / f"{n}.png").write_bytes(forge.PHOTO + bytes([n]))
        go_ahead.ok("finding", "A1", "wrinkle", f"{n}-{n}.5", "--photo", str(tmp_path / f"{n}.png"))
    return go_ahead


def test_a_pack_is_written_whole_or_not_at_all(
    pictured: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broken off in the check, among the entries, among the photos."""
    file = tmp_path / "all.weldpack"
    places = breaks_off_clean(pictured, f"pack {file}", monkeypatch, done=file.exists)
    assert places > 2 * len(pictured.entries())


def test_a_merge_takes_all_or_nothing(
    pictured: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Into a book that has other work, and into none."""
    pictured.ok(f"pack {tmp_path / 'all.weldpack'}")
    n = len(pictured.entries())
    pictured.book = tmp_path / "other.sqlite"
    words = f"merge {tmp_path / 'all.weldpack'}"

    def taken() -> bool:
        return len(pictured.entries()) >= n

    assert breaks_off_clean(pictured, words, monkeypatch, done=taken) > 2 * n
    assert (tmp_path / "other.sqlite.photos").is_dir()


def test_a_backup_is_there_whole_or_not_at_all(
    pictured: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its photos too."""
    file = tmp_path / "copy.sqlite"
    breaks_off_clean(pictured, f"backup {file}", monkeypatch, done=file.exists)
    assert len(list((tmp_path / "copy.sqlite.photos").iterdir())) == 2


@pytest.mark.parametrize("place", ["none", "damaged", "older"])
def test_a_restore_leaves_what_was_there(
    pictured: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """Over no book, over one that cannot be read any more, over one that has less."""
    old = tmp_path / "old.sqlite"
    pictured.ok(f"backup {old}")
    pictured.ok("strip record --nozzle 932 --speed 5 --bleed 1/4,1/4,1/4 --bubbling none")
    new, n = tmp_path / "new.sqlite", len(pictured.entries())
    pictured.ok(f"backup {new}")
    pictured.book = tmp_path / "place.sqlite"
    if place == "damaged":
        pictured.book.write_bytes(b"no book any more" * 100)
    if place == "older":
        pictured.ok(f"restore {old}")

    def restored() -> bool:
        try:
            return len(pictured.entries()) == n
        except sqlite3.DatabaseError:
            return False

    damaged = place == "damaged"
    if damaged:
        monkeypatch.setattr("tests.interrupting.whole", lambda book: book.read_bytes())
        monkeypatch.setattr("tests.interrupting.contents", lambda book: None)
    breaks_off_clean(pictured, f"restore {new}", monkeypatch, done=restored)
    assert (tmp_path / "place.sqlite.damaged").exists() == damaged


def test_an_export_is_all_tables_or_none(
    pictured: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No folder of some tables is left to be taken for all of them."""
    folder = tmp_path / "tables"
    places = breaks_off_clean(pictured, f"export {folder}", monkeypatch, done=folder.exists)
    assert places > 10
    assert (folder / "strips.csv").exists()


def test_tables_made_anew_are_made_whole(pictured: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A broken-off rebuild leaves the tables as they were, a row tampered with included."""
    with sqlite3.connect(pictured.book) as connection:
        connection.execute("UPDATE strips SET nozzle_c = 1")
    connection.close()

    def mended() -> bool:
        return bool(pictured.query("SELECT nozzle_c FROM strips")[0][0] != 1)

    n = len(pictured.entries())
    first = [0]

    def rebuilt_only(self: Any, code: Any, on_progress: Any, **_more: Any) -> Any:
        first[0] += 1
        return examined(self, code)

    from weldcal.book.keeping import Keeping

    examined = Keeping.examine
    monkeypatch.setattr(Keeping, "examine", rebuilt_only)
    assert breaks_off_clean(pictured, "verify --rebuild", monkeypatch, done=mended) > n
    assert first == [1]


def test_a_load_records_all_rows_or_none(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broken off while reading the file, and while recording."""
    file = tmp_path / "strips.csv"
    rows = [f"2026-05-2{n},07:00,932,5.5,1/4,3/16,1/4,none,good" for n in range(4)]
    file.write_text(
        "\n".join(
            [
                "date,time,nozzle F,speed ft/min,bleed 1 in,bleed 2 in,bleed 3 in,bubbling,pull",
                *rows,
            ]
        )
    )
    places = breaks_off_clean(
        job,
        f"strip load --yes {file}",
        monkeypatch,
        done=lambda: bool(job.query("SELECT * FROM strips")),
    )
    assert places == 8


def test_a_probe_sheet_is_loaded_whole_or_not_at_all(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Walks and what was found on them."""
    file = tmp_path / "walks.csv"
    file.write_text("date,time,seam,from,to\n2026-06-01,06:50,A1,0,33\n2026-06-01,06:55,A2,0,33\n")
    places = breaks_off_clean(
        job,
        f"probe load --yes {file}",
        monkeypatch,
        done=lambda: bool(job.query("SELECT * FROM walks")),
    )
    assert places == 4
