"""What cannot be read or cannot be: one plain line, exit code 2, nothing recorded."""

from __future__ import annotations

import contextlib
import importlib
import os
import shlex
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from weldcal.cli import main as door

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"
DONE = ("recorded", "listed", "Nothing found", "from now on")


def refused(weldcal: Any, *line: str, code: int = 2) -> str:
    """Run a command that must be refused; its one line."""
    before = weldcal.entries()
    done = weldcal(*line)
    assert done.code == code
    assert len(done.err.splitlines()) == 1, done.err
    assert "Traceback" not in done.err
    assert "inside" not in done.err, done.err
    assert not any(word in done.out for word in DONE)
    assert weldcal.entries() == before
    return str(done.err)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        # Text where a number belongs.
        (f"{STRIP} --nozzle hot", "'hot' is not a number"),
        (f"{STRIP} --speed fast", "'fast' is not a number"),
        (f"{STRIP} --bleed 1/4,wide", "'wide' is not a number"),
        (f"{STRIP} --bleed ''", "not a number"),
        (f"{STRIP} --speed 1/0", "not a number"),
        (f"{STRIP} --speed nan", "not a number"),
        (f"{STRIP} --speed 5,500", "not a number"),
        ("conditions --wind breezy", "'breezy' is not a number"),
        ("seam add B1 --length long", "'long' is not a number"),
        ("bleed A1 middle 1/4", "'middle' is not a number"),
        ("seam start A1 --nozzle 932 --speed 5.5 --from start", "not a number"),
        ("probe A1 here-there", "not understood"),
        ("limit set bleed_low small --source x", "not a number"),
        # A unit of another kind.
        (f"{STRIP} --nozzle 932ft", "not one of its units (C, F, K)"),
        (f"{STRIP} --speed 5.5in", "'in' is not one of its units"),
        (f"{STRIP} --bleed 6C", "'C' is not one of its units"),
        (f"{STRIP} --ambient 61%", "not one of its units"),
        ("probe A1 0-33C", "not one of its units"),
        ("peel A1 3 --parted lap --load 40in", "not one of its units"),
        # What cannot be.
        (f"{STRIP} --nozzle 9320F", "9320F cannot be; it lies between 122 °F and 1382 °F"),
        (f"{STRIP} --nozzle 9320", "9320 °F cannot be"),
        (f"{STRIP} --speed 0", "cannot be"),
        (f"{STRIP} --speed -5", "cannot be"),
        (f"{STRIP} --humidity 140", "140 % cannot be; it lies between 0 % and 100 %"),
        (f"{STRIP} --ambient 300F", "cannot be"),
        (f"{STRIP} --bleed -1/4", "cannot be"),
        (f"{STRIP} --bleed 9in", "cannot be"),
        (f"{STRIP} --line-voltage 22800", "cannot be"),
        ("conditions --humidity 140", "cannot be"),
        ("seam add B1 --length -3", "cannot be"),
        ("bleed A1 -4 1/4", ""),
        ("finding A1 void 3 --depth 99in", "cannot be"),
        # A word that is none of those possible.
        (f"{STRIP} --bubbling plenty", "none, trace, heavy"),
        (f"{STRIP} --bond maybe", "good, cold, not tried"),
        (f"{STRIP} --lap upside-down", "selvage, granules"),
        (f"{STRIP} --damp rather", "yes, no"),
        ("strip pull S1 superb", ""),
        ("finding A1 leak 3-4", "fishmouth"),
        ("peel A1 3 --parted cleanly", "in the compound"),
        ("seam add B1 --kind roof", "end lap"),
        # A time that is none.
        (f"{STRIP} --at 25:00", "is not a time"),
        (f"{STRIP} --at soon", "is not a time"),
        (f"{STRIP} --at 2026-13-01", "is not a time"),
        ("probe A1 0-33 --started later", "is not a time"),
        # A name that is none.
        (f"{STRIP} --by '  '", ""),
        (f"{STRIP} --machine '  '", ""),
        ("seam add ''", "1 to 200"),
        ("seam start ' ' --nozzle 932 --speed 5.5", "1 to 200"),
        # Something missing.
        ("strip record --nozzle 932", "--speed"),
        ("strip record --nozzle 932 --speed 5.5", "--bleed"),
        ("strip record --nozzle 932 --speed 5.5 --bleed 1/4", "--bubbling"),
        ("conditions", "--ambient"),
        ("seam finish A1", "--to"),
        ("mend F1", "--method"),
        ("peel A1 3", "--parted"),
        ("amend S1 speed 5", "--why"),
        ("limit set bleed_low 1/8", "--source"),
        ("strip pull", "NAME is missing"),
        ("probe walk", "NAME is missing"),
        # No such command or option.
        ("weld A1", "weldcal seam start"),
        ("strip recrod", "record"),
        (f"{STRIP} --spedd 5", "--speed"),
        (f"{STRIP} --nozzle", "--nozzle"),
        ("trace A1 extra", "extra"),
    ],
)
def test_bad_input_is_refused_in_one_line_and_nothing_is_recorded(
    job: Any, line: str, says: str
) -> None:
    """What was wrong, what is allowed, what to type instead."""
    assert says in refused(job, line)


def test_the_units_of_the_job_say_what_a_bare_number_means_in_a_refusal_too(weldcal: Any) -> None:
    """932 on a job in SI is 932 °C: too hot to be."""
    weldcal.ok(
        'job new "Depot" --units si --zone Europe/Madrid --sheet "b: x" --machine "m: m/min"'
    )
    assert "932 °C cannot be" in refused(weldcal, f"{STRIP} --by X")


def test_nobody_named_is_refused_with_what_to_type(weldcal: Any) -> None:
    """Who did this?"""
    weldcal.ok(
        'job new "Depot" --units us --zone America/Denver --sheet "b: x" --machine "m: ft/min"'
    )
    assert "weldcal me" in refused(weldcal, STRIP)


@pytest.mark.parametrize(
    "line",
    [
        STRIP,
        "roof",
        "dial",
        "trace A1",
        "verify",
        "limit list",
        "me Ana",
        "seam add B1",
        "strip list",
    ],
)
def test_without_a_book_every_command_says_how_to_begin(weldcal: Any, line: str) -> None:
    """And makes none."""
    assert "weldcal job new" in refused(weldcal, line)
    assert not weldcal.book.exists()


@pytest.mark.parametrize("option", ["--note", "--by", "--machine", "--roll-lot", "--instrument"])
def test_bytes_that_are_no_text_are_refused_plainly(job: Any, option: str) -> None:
    """A lone surrogate is how Python hands on an undecodable byte of the command line."""
    refused(job, *STRIP.split(), option, "a\udcffb")


# -- books that are none ---------------------------------------------------------------

NOT_A_BOOK: dict[str, Callable[[Path], object]] = {
    "a text file": lambda path: path.write_text("strip,speed\n1,5.5\n" * 50),
    "an empty file": lambda path: path.write_bytes(b""),
    "a short file": lambda path: path.write_bytes(b"SQLite format 3\x00"),
    "noise": lambda path: path.write_bytes(bytes(range(256)) * 40),
    "another program's SQLite file": lambda path: _other_sqlite(path),
    "a folder": lambda path: path.mkdir(),
}


def _other_sqlite(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE jobs (id, name, units, zone, day_begins, tick)")
        connection.execute("INSERT INTO jobs VALUES ('x', 'not ours', 'us', 'UTC', 0, 1)")


@pytest.mark.parametrize("what", NOT_A_BOOK)
@pytest.mark.parametrize(
    "line", [f"{STRIP} --by X", "roof", "dial", "verify", 'job new "X" --units us']
)
def test_a_book_that_is_no_book_is_left_as_it_is(weldcal: Any, what: str, line: str) -> None:
    """One line, exit code 2, not a byte changed."""
    path = weldcal.book
    NOT_A_BOOK[what](path)
    before = path.read_bytes() if path.is_file() else None
    done = weldcal(line)
    assert done.code == 2
    assert len(done.err.splitlines()) == 1
    assert "inside" not in done.err
    assert (path.read_bytes() if path.is_file() else None) == before


@pytest.mark.parametrize(
    ("what", "why"),
    [
        ("a text file", "the file holds something else"),
        ("noise", "the file holds something else"),
        ("another program's SQLite file", "an SQLite file of something else"),
        ("a folder", "it is a folder"),
    ],
)
def test_a_book_that_is_no_book_says_what_it_is(weldcal: Any, what: str, why: str) -> None:
    """In our words, not in SQLite's."""
    NOT_A_BOOK[what](weldcal.book)
    assert why in weldcal("roof").err


@pytest.mark.parametrize("part", [0.3, 0.6, 0.9])
def test_a_book_cut_short_is_refused_or_faulted_never_believed(go_ahead: Any, part: float) -> None:
    """A copy that broke off: no traceback, and verify does not say all is well."""
    data = go_ahead.book.read_bytes()
    go_ahead.book.write_bytes(data[: int(len(data) * part)])
    for line in ("verify", "roof", STRIP):
        done = go_ahead(line)
        assert "Traceback" not in done.err + done.out
        assert "inside" not in done.err
    assert go_ahead("verify").code != 0


@pytest.mark.parametrize("kept", [4096, 8192])
def test_a_damaged_page_is_found(go_ahead: Any, kept: int) -> None:
    """Noise in the middle of the file is no clean record."""
    data = bytearray(go_ahead.book.read_bytes())
    data[kept : kept + 4096] = b"\xa5" * 4096
    go_ahead.book.write_bytes(bytes(data))
    assert go_ahead("verify").code != 0


def test_a_book_of_a_newer_program_can_be_read_and_not_written(go_ahead: Any) -> None:
    """Its format is not ours to add to."""
    with contextlib.closing(sqlite3.connect(go_ahead.book)) as connection:
        connection.execute("PRAGMA user_version = 999")
    assert "newer weldcal" in refused(go_ahead, STRIP)
    assert "A1" in go_ahead.ok("roof").out


def test_a_parent_that_is_a_file_is_refused(weldcal: Any, tmp_path: Path) -> None:
    """No folder can be made there."""
    (tmp_path / "file").write_text("x")
    weldcal.book = tmp_path / "file" / "book.sqlite"
    done = weldcal('job new "X" --units us')
    assert (done.code, len(done.err.splitlines())) == (2, 1)


# -- disks that cannot be written -------------------------------------------------------

NOBODY = 65534


@pytest.fixture
def shared_folder(job: Any) -> Iterator[Any]:
    """The job's book in a folder everybody may enter (pytest's own are root's alone)."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        moved = folder / "book.sqlite"
        moved.write_bytes(job.book.read_bytes())
        moved.chmod(0o644)
        job.book = moved
        yield job


def without_rights(book: Path, line: str) -> tuple[int, str, str]:
    """Run a command as somebody whom permission bits bind, in a fork: root is not bound."""
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as err:
        child = os.fork()
        if child == 0:
            _as_nobody(book, line, out.fileno(), err.fileno())
        _pid, status = os.waitpid(child, 0)
        out.seek(0)
        err.seek(0)
        return os.waitstatus_to_exitcode(status), out.read(), err.read()


def _as_nobody(book: Path, line: str, out: int, err: int) -> None:
    try:
        for module in set(door._MODULES.values()):  # root's own folders close behind us
            importlib.import_module(f"weldcal.cli.{module}")
        importlib.import_module("weldcal.reports.terminal")
        sys.stdout = os.fdopen(os.dup(out), "w")
        sys.stderr = os.fdopen(os.dup(err), "w")
        if os.geteuid() == 0:
            os.setresgid(NOBODY, NOBODY, NOBODY)
            os.setresuid(NOBODY, NOBODY, NOBODY)
        code = door.main(["--book", str(book), *shlex.split(line)])
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        code = 99
    os._exit(code)


READ_ONLY = ["file", "folder", "file and folder"]


@pytest.mark.parametrize("what", READ_ONLY)
def test_nothing_is_recorded_where_nothing_can_be_written(
    shared_folder: Any, frozen: Callable[[Path], None], what: str
) -> None:
    """A read-only file, a read-only folder, both: one line, exit code 2."""
    job = shared_folder
    before = job.entries()
    if "file" in what:
        frozen(job.book)
    if "folder" in what:
        frozen(job.book.parent)
    code, out, err = without_rights(job.book, f"{STRIP} --by X")
    assert (code, len(err.splitlines())) == (2, 1)
    assert "Nothing was recorded" in err
    assert not any(word in out for word in DONE)
    assert job.entries() == before


def test_a_read_only_book_can_still_be_read(
    shared_folder: Any, frozen: Callable[[Path], None]
) -> None:
    """As an archive is, years later."""
    frozen(shared_folder.book)
    frozen(shared_folder.book.parent)
    for line, says in (("roof", "not started"), ("verify", "every hash and link holds")):
        code, out, err = without_rights(shared_folder.book, line)
        assert (code, err) == (0, "")
        assert says in out


def test_no_job_is_made_in_a_read_only_folder(
    shared_folder: Any, frozen: Callable[[Path], None]
) -> None:
    """And no half of one."""
    folder = shared_folder.book.parent
    frozen(folder)
    code, _out, err = without_rights(folder / "new.sqlite", 'job new "X" --units us')
    assert (code, len(err.splitlines())) == (2, 1)
    assert [path.name for path in folder.iterdir()] == ["book.sqlite"]


def test_a_book_another_program_holds_is_waited_for_and_then_refused(
    job: Any, fresh: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    """The wait is cut short here; the sentence is the program's own."""
    before = job.entries()
    impatient = (
        "import sqlite3\nreal = sqlite3.connect\n"
        "sqlite3.connect = lambda *a, **k: real(*a, **{**k, 'timeout': 0.05})"
    )
    with contextlib.closing(sqlite3.connect(job.book)) as holder:
        holder.execute("BEGIN IMMEDIATE")
        done = fresh(f"{STRIP} --by X", before=impatient)
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert "another program holds it" in done.stderr
    assert job.entries() == before
