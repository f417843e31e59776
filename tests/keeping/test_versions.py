"""Books of every schema version: older ones brought up with a copy beside them, newer ones read and never written."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.processes import as_anybody, program, started
from tests.keeping.tables import contents
from weldcal.tables.schema import SCHEMA_VERSION

BOOKS = Path(__file__).parents[2] / "fixtures" / "books"
VERSIONS = range(1, SCHEMA_VERSION + 1)
OLDER = range(1, SCHEMA_VERSION)


def put(weldcal: Any, version: int) -> Any:
    """The book of that schema version, where this test's book belongs."""
    shutil.copyfile(BOOKS / f"schema-{version}.sqlite", weldcal.book)
    return weldcal


def schema_of(book: Path) -> str:
    with contextlib.closing(
        sqlite3.connect(f"{book.as_uri()}?mode=ro&immutable=1", uri=True)
    ) as connection:
        return str(
            connection.execute("SELECT value FROM local WHERE name = 'schema'").fetchone()[0]
        )


def test_there_is_a_book_of_every_schema_version() -> None:
    """A change of the schema brings its fixture."""
    for version in VERSIONS:
        assert schema_of(BOOKS / f"schema-{version}.sqlite") == str(version)


def sound(weldcal: Any, version: int, words: str = "verify") -> None:
    """Nothing is wrong with it, but the seal of a form never released in the book of version 2."""
    done = weldcal(f"{words} --json")
    assert [f["what"] for f in done.json["faults"]] == (["seal"] if version == 2 else [])
    assert done.code == int(version == 2)


@pytest.mark.parametrize("version", VERSIONS)
def test_a_book_of_any_version_is_read_and_written(weldcal: Any, version: int) -> None:
    """Roof, trace and verify; a new entry; the old ones as they were."""
    old = forge.entries_of(BOOKS / f"schema-{version}.sqlite")
    put(weldcal, version)
    assert "A1" in weldcal.ok("roof").out
    assert "misread the dial" in weldcal.ok("trace A1").out
    sound(weldcal, version)
    weldcal.ok("conditions --ambient 62F")
    sound(weldcal, version)
    assert forge.entries_of(weldcal.book)[: len(old)] == old


@pytest.mark.parametrize("version", OLDER)
@pytest.mark.parametrize("words", ["roof", "conditions --ambient 62F"], ids=["reading", "writing"])
def test_an_older_book_is_copied_beside_before_it_is_brought_up(
    weldcal: Any, version: int, words: str
) -> None:
    """One copy, byte for byte its entries, for its owner only; the tables are then those of a rebuild."""
    old = forge.entries_of(BOOKS / f"schema-{version}.sqlite")
    put(weldcal, version)
    weldcal.ok(words)
    (beside,) = weldcal.book.parent.glob(f"{weldcal.book.name}.before-*")
    assert forge.entries_of(beside) == old
    assert schema_of(beside) == str(version)
    assert beside.stat().st_mode & 0o077 == 0
    assert schema_of(weldcal.book) == str(SCHEMA_VERSION)
    before = contents(weldcal.book)
    sound(weldcal, version, "verify --rebuild")
    assert contents(weldcal.book) == before
    assert len(list(weldcal.book.parent.glob(f"{weldcal.book.name}.before-*"))) == 1


@pytest.mark.parametrize("version", OLDER)
def test_an_older_book_in_a_read_only_place_is_read_in_memory(
    weldcal: Any, version: int, frozen: Any, tmp_path: Path
) -> None:
    """No copy, no change; the same answers; writing is refused with the reason."""
    place = tmp_path / "cd"
    place.mkdir()
    weldcal.book = place / "book.sqlite"
    put(weldcal, version)
    before = weldcal.book.read_bytes()
    frozen(weldcal.book)
    frozen(place)
    done = program(weldcal.book, "trace", "A1", preexec_fn=as_anybody)
    assert (done.returncode, done.stderr) == (0, "")
    assert "misread the dial" in done.stdout
    assert program(weldcal.book, "verify", preexec_fn=as_anybody).returncode == int(version == 2)
    done = program(weldcal.book, "conditions", "--ambient", "60F", preexec_fn=as_anybody)
    assert done.returncode == 2
    assert "read-only" in done.stderr
    assert [file.name for file in place.iterdir()] == ["book.sqlite"]
    assert weldcal.book.read_bytes() == before


@pytest.mark.parametrize("version", OLDER)
def test_an_older_book_opened_by_several_at_once_loses_nobodys_work(
    weldcal: Any, version: int
) -> None:
    """Five commands at once on a book that has to be brought up: all recorded, one copy beside it."""
    put(weldcal, version)
    hands = [started(weldcal.book, "conditions", "--ambient", f"{60 + n}F") for n in range(5)]
    ended = [(hand.communicate(timeout=120)[1], hand.returncode) for hand in hands]
    assert ended == [("", 0)] * 5
    texts = {
        e["payload"]["conditions"]["ambient"]["text"]
        for e in weldcal.entries()
        if e["kind"] == "conditions"
    }
    assert {f"{60 + n}F" for n in range(5)} <= texts
    sound(weldcal, version)


NEWER = {
    "tables": f"UPDATE local SET value = '{SCHEMA_VERSION + 1}' WHERE name = 'schema'",
    "file": "PRAGMA user_version = 99",
}
WRITES = [
    "conditions --ambient 62F",
    'me "Zed"',
    "verify --rebuild",
    "seal",
    "amend S1 speed 4 --why x",
    "seam add B1",
    "strip pull S1 good",
    "hand L1 --to x",
]


@pytest.fixture(params=list(NEWER))
def newer(weldcal: Any, request: pytest.FixtureRequest) -> Any:
    """A book that a later program made."""
    put(weldcal, SCHEMA_VERSION)
    with contextlib.closing(sqlite3.connect(weldcal.book)) as connection, connection:
        connection.execute(NEWER[request.param])
    return weldcal


@pytest.mark.parametrize("words", WRITES)
def test_a_newer_book_is_never_written(newer: Any, words: str) -> None:
    """One sentence that says so, exit code 2, not a byte changed."""
    before = newer.book.read_bytes()
    done = newer(words)
    assert done.code == 2
    assert "newer" in done.err
    assert newer.book.read_bytes() == before


def test_a_newer_book_is_read(newer: Any) -> None:
    """Roof, trace, verify, a pack."""
    before = newer.book.read_bytes()
    for words in ("roof", "trace A1", "verify", "seal --list", "strip list"):
        newer.ok(words)
    newer.ok("pack", str(newer.book.with_name("p")))
    assert newer.book.read_bytes() == before


def test_a_photo_is_not_kept_where_the_record_of_it_is_refused(newer: Any, tmp_path: Path) -> None:
    """Nothing was recorded, so nothing stays behind."""
    photo = tmp_path / "lap.png"
    photo.write_bytes(forge.PHOTO)
    assert newer("finding", "A1", "wrinkle", "3-4", "--photo", str(photo)).code == 2
    place = newer.book.with_name(newer.book.name + ".photos")
    assert not place.exists() or not list(place.iterdir())


def test_an_entry_of_a_newer_form_is_refused_in_a_pack(job: Any, tmp_path: Path) -> None:
    """Its hash may mean something else by then."""
    before = forge.entries_of(job.book)
    done = job("merge", str(forge.pack(tmp_path / "f", [forge.sealed(forge.envelope(v=2))])))
    assert done.code == 2
    assert forge.entries_of(job.book) == before
