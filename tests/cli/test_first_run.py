"""The first time, and on odd machines: whatever is missing or wrong, one line leads on."""

from __future__ import annotations

import contextlib
import json
import os
import shlex
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.keeping.processes import as_anybody
from weldcal.cli.main import COMMANDS

PROGRAM = [sys.executable, "-c", "from weldcal.cli.start import run; run()"]
NEW = 'job new "Roof" --units us --zone America/Denver --by "Ana Ruiz" --sheet "base: SBS" --machine "blue: ft/min"'
# Only bytes: neither the locale nor Python's own UTF-8 mode helps.
ASCII = {
    "LC_ALL": "C",
    "PYTHONIOENCODING": "ascii",
    "PYTHONUTF8": "0",
    "PYTHONCOERCECLOCALE": "0",
}


def test_as_a_module_it_starts_as_the_command_does(tmp_path: Path) -> None:
    """`python -m weldcal`: the same words, the same refusal, and alone the guided day."""
    words = [sys.executable, "-m", "weldcal"]

    def said(*line: str, typed: str = "") -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*words, *line], input=typed, capture_output=True, text=True, timeout=60, check=False
        )

    assert said("--version").stdout == run("--version").out
    refused = said("nosuch")
    assert (refused.returncode, refused.stderr) == (2, run("nosuch").err)
    alone, day = said(typed="q\n"), run("", typed="q\n")
    assert (alone.returncode, alone.stdout, alone.stderr) == (day.code, day.out, day.err)


class Done:
    """What one run of the program, in a process of its own, came to."""

    def __init__(self, run: subprocess.CompletedProcess[bytes]) -> None:
        self.code = run.returncode
        self.out, self.err = run.stdout.decode(), run.stderr.decode()

    @property
    def line(self) -> str:
        """The one line of its refusal."""
        assert (self.code, self.out) == (2, "")
        (line,) = self.err.splitlines()
        assert "Traceback" not in line and "went wrong inside" not in line
        return line


def run(line: str, *, without: tuple[str, ...] = (), typed: str = "", **env: str) -> Done:
    """`weldcal` and `line`, as anybody but root: file modes hold."""
    around = {k: v for k, v in {**os.environ, **env}.items() if k not in without}
    words = [word.encode() for word in shlex.split(line)]
    return Done(
        subprocess.run(
            [*PROGRAM, *words],
            input=typed.encode(),
            capture_output=True,
            timeout=60,
            check=False,
            env=around,
            preexec_fn=as_anybody,
        )
    )


# -- no job, no book --------------------------------------------------------------------------

# What needs no book, or is told first what else is missing.
_ELSE = {"cautions", "screen", "completion", "demo", "job new", "key", "restore", "day", "merge"}
_ELSE |= {"office"}  # books of its own
NEEDS_JOB = [
    "roof",
    "dial",
    "now 80F",
    "board",
    "route",
    "roll list",
    "punch list",
    "startup",
    "look",
    "leak list",
    "substrate A --dry yes --primed yes --clean yes",
    "learn k.json",
    "knowledge show",
    "strip list",
    "seam add A1",
    "probe A1",
    "mend F1 --method patch",
    "trace A1",
    "evening",
    "history",
    "verify",
    "tables",
    "me Ana",
    "backup b.sqlite",
    "seal",
    "pack p.weldpack",
    "undo",
    "go-ahead",
    "chart",
    "doubt",
    "faults",
    "limit list",
    "hotwork list",
    "dossier d",
    "export e",
    "form strip",
    "conditions --ambient 61F",
    "check --ambient 61F",
    "leak 1ft 1ft",
    "cover A",
    "open-up A1",
    "amend S1 speed 5 --why x",
    "settle R1 done",
    "finding A1 cold 3",
    "peel A1 3",
    "bleed A1 3 1/4",
    "width A1 3 4in",
    "area add 'A 6ft x 6ft'",
    "sheet add cap",
    "machine add red",
    "instrument add tape",
    "person add Cleo",
    "hand L1 --to X",
    "sample draw --count 2",
    "strip 5.5 1/4 none",
]


@pytest.mark.parametrize("line", NEEDS_JOB)
def test_without_a_book_every_command_leads_to_a_job(weldcal: Any, line: str) -> None:
    """Exit code 2, what to type, and no file left behind."""
    done = weldcal(line)
    assert (done.code, done.out) == (2, "")
    assert done.err.strip().endswith(
        'Type: weldcal job new "NAME" --units us, or try: weldcal demo.'
    )
    assert not weldcal.book.exists()


def test_every_command_is_among_them() -> None:
    """Or needs no book."""
    named = {line.split()[0] for line in NEEDS_JOB} | {line.split()[0] for line in _ELSE}
    assert {name for part in COMMANDS.values() for name in part} - named == {"power"}


def test_a_book_in_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """Read, it leads to a job; and the job makes the folder."""
    book = tmp_path / "not" / "there" / "roof.sqlite"
    assert "weldcal job new" in run(f"--book {book} roof").line
    assert not book.parent.exists()
    assert run(f"--book {book} {NEW}").code == 0
    assert run(f"--book {book} job show").code == 0


@pytest.mark.parametrize("below", ["book.sqlite", "deeper/book.sqlite"])
def test_a_book_below_a_file_is_told(tmp_path: Path, below: str) -> None:
    """A file where its folder would be; the name told is the one typed."""
    (tmp_path / "file").write_text("x")
    line = run(f"--book {tmp_path}/file/{below} {NEW}").line
    assert f"file/{below} cannot be written (a part of its path is no folder)" in line
    assert "--book PATH" in line


# -- the clock ----------------------------------------------------------------------------------


def test_a_clock_before_the_last_entry_is_told_and_recorded_all_the_same(job: Any) -> None:
    """On opening the day, and beside what is recorded."""
    job.ok("conditions --ambient 61F")
    job.clock.set("05:00", days=-2)
    assert "clock stands before its last entry" in " ".join(job.ok("").out.split())
    assert "clock stands before its last entry" in " ".join(
        job.ok("conditions --ambient 60F").out.split()
    )
    assert job.ok("verify").code == 0


def test_a_zone_that_differs_from_the_machines_is_said_once(
    job: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once for each zone the machine is set to; a zone of the same time is none of it."""
    assert "This device is set to" not in job.ok("").out
    monkeypatch.setenv("TZ", "America/Edmonton")  # another name, the same time as Denver
    assert "This device is set to" not in job.ok("").out
    monkeypatch.setenv("TZ", "Europe/Berlin")
    first = job.ok("").out
    assert "This device is set to Europe/Berlin; the job's clock is America/Denver" in first
    assert "07:00" in first
    assert "This device is set to" not in job.ok("").out
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    assert "Asia/Tokyo" in job.ok("").out


def test_a_new_job_far_away_says_so_at_once(weldcal: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """And the day does not repeat it."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    assert "This device is set to Europe/Berlin" in weldcal.ok(NEW).out
    assert "This device is set to" not in weldcal.ok("").out


def test_a_zone_nobody_knows_is_refused_with_one_that_is(weldcal: Any) -> None:
    """And the machine's own may be nonsense."""
    assert "America/Denver" in weldcal.refused('job new "Roof" --zone Mars/Base')
    assert run("cautions", TZ="Mars/Base").code == 0
    assert run('job new "Roof" --by Ana', TZ=":nonsense").code == 0


# -- ASCII ----------------------------------------------------------------------------------------

DAY = """
job new "Dach Müller" --units us --zone America/Denver --by "José Peña" --sheet "größe: SBS" --machine "blue: ft/min"
me "José Peña"
conditions --ambient 61F
strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none
seam add Ñ1 --length 33ft
dial
dial --card
dial --show
roof
job show
trace Ñ1
limit list
cautions
evening --html HERE/é.html
check --ambient 61F --humidity 85 --sheet-temp 58F
""".strip().splitlines()


def test_letters_and_signs_are_spelt_in_ascii(tmp_path: Path) -> None:
    """No error, no question mark for a letter or a sign with an ASCII spelling; what was typed is kept whole."""
    shown = []
    for line in DAY:
        done = run(f"--book {tmp_path}/bü.sqlite {line.replace('HERE', str(tmp_path))}", **ASCII)
        assert (done.code, done.err) == (0, ""), line
        assert done.out.isascii()
        assert "?" not in done.out
        shown.append(done.out)
    said = "".join(shown)
    for spelt in ("Dach Muller", "Jose Pena", "grosse: SBS", "Seam N1", "61 F", "1/8 in"):
        assert spelt in said
    assert (tmp_path / "é.html").exists()
    with contextlib.closing(sqlite3.connect(tmp_path / "bü.sqlite")) as book:
        assert book.execute("SELECT name FROM jobs").fetchall() == [("Dach Müller",)]
        assert book.execute("SELECT name FROM seams").fetchall() == [("Ñ1",)]


def test_json_keeps_its_text_in_ascii(tmp_path: Path) -> None:
    """As escapes, which every reader turns back."""
    run(f"--book {tmp_path}/b.sqlite {DAY[0]}", **ASCII)
    done = run(f"--book {tmp_path}/b.sqlite job show --json", **ASCII)
    assert json.loads(done.out)["jobs"][0]["name"] == "Dach Müller"


def test_the_environment_and_answers_are_utf8_in_ascii(tmp_path: Path) -> None:
    """A name from WELDCAL_BY; a refusal that quotes what was typed."""
    book = f"--book {tmp_path}/b.sqlite"
    run(f"{book} {DAY[0]}", **ASCII)
    assert run(f"{book} conditions --ambient 61F", WELDCAL_BY="Zoë", **ASCII).code == 0
    with contextlib.closing(sqlite3.connect(tmp_path / "b.sqlite")) as connection:
        assert connection.execute("SELECT seen_by FROM conditions").fetchall() == [("Zoë",)]
    assert "'nonsense'" in run(f"{book} nonsensé", **ASCII).line


# -- no terminal, odd files, no rights --------------------------------------------------------------


def test_into_a_pipe_nobody_is_asked(job: Any, tmp_path: Path) -> None:
    """What is missing is named; what is typed into the pipe is no answer."""
    book = f"--book {job.book}"
    done = run(f"{book} strip record --speed 5", typed="932\n932\n")
    assert done.code == 2
    assert done.err.splitlines()[-1].endswith("Add --nozzle, like --nozzle 932F.")
    done = run(f"{book} strip 5.5 1/4 3/16 1/4 none 932F", typed="\n")
    assert (done.code, done.err.count("\n")) == (2, 1)
    assert "add --yes" in done.err


def test_a_windows_file_is_read_as_it_is(job: Any, tmp_path: Path) -> None:
    """Byte-order mark, CRLF, and a path with backslashes in a cell: kept as typed."""
    head = "speed (ft/min),nozzle (F),bleed (in),bubbling,date,machine,sheet,note"
    row = r'5.5,932,1/4 3/16 1/4,none,2026-06-01 06:50,blue,base,"C:\new\tape 1.jpg"'
    file = tmp_path / "strips.csv"
    file.write_bytes(b"\xef\xbb\xbf" + f"{head}\r\n{row}\r\n".encode())
    assert "Strips: 1 recorded" in job.ok(f"strip load --yes {file}").out
    assert job.query("SELECT note FROM strips")[0]["note"] == r"C:\new\tape 1.jpg"


def test_a_windows_path_that_is_not_here_is_one_line(job: Any) -> None:
    """It is said back as typed."""
    line = job.refused("strip", "load", "--yes", r"C:\Users\Ana\strips.csv")
    assert r"C:\Users\Ana\strips.csv: there is no such file" in line


READ_ONLY = {
    "conditions --ambient 61F": "Nothing was recorded",
    'me "Ben Okoro"': "--book PATH",
    "evening --html HERE/e.html": "Type another path",
    "export HERE/x": "Type another path",
    "backup HERE/b.sqlite": "Type another path",
    "pack HERE/p.weldpack": "Type another path",
    "dossier HERE/d --only html": "Type another path",
}


@pytest.mark.parametrize("line", READ_ONLY)
def test_a_read_only_disk_says_what_to_do(job: Any, tmp_path: Path, frozen: Any, line: str) -> None:
    """And reading still works."""
    frozen(job.book)
    frozen(tmp_path)
    done = run(f"--book {job.book} {line.replace('HERE', str(tmp_path))}")
    assert done.code == 2
    (said,) = done.err.splitlines()
    assert READ_ONLY[line] in said
    assert run(f"--book {job.book} roof").code == 0
    assert run(f"--book {job.book}").code == 0


def test_a_data_folder_that_cannot_be_written(tmp_path: Path, frozen: Any) -> None:
    """The job is refused by its book's name, the screen with another way to have it."""
    home = tmp_path / "home"
    home.mkdir()
    frozen(home)
    line = run(NEW, without=("WELDCAL_BOOK",), HOME=str(home)).line
    assert "weldcal/book.sqlite cannot be written (you have no right to it)" in line
    assert "--book PATH" in line
    line = run("screen linear", without=("WELDCAL_BOOK",), HOME=str(home)).line
    assert "WELDCAL_SCREEN=linear" in line
    assert run("cautions", without=("WELDCAL_BOOK",), HOME=str(home)).code == 0


def test_without_a_home(tmp_path: Path) -> None:
    """HOME unset, or no folder: nothing is a traceback, and a book may be named."""
    book = f"--book {tmp_path}/b.sqlite"
    assert run(f"{book} {NEW}", without=("HOME",)).code == 0
    assert run(f"{book} roof", without=("HOME",)).code == 0
    assert run("cautions", without=("HOME", "WELDCAL_BOOK")).code == 0
    assert "weldcal job new" in run("roof", without=("WELDCAL_BOOK",), HOME="/nonexistent").line


def test_a_screen_that_is_none_is_told(tmp_path: Path) -> None:
    """On the line, in the environment, also where nothing else was typed."""
    assert "plain, high-contrast, linear" in run("--screen dark roof").line
    assert "plain, high-contrast, linear" in run("screen dark").line
    assert "plain, high-contrast, linear" in run("", WELDCAL_SCREEN="dark").line
    assert run("--screen linear cautions").code == 0


def test_a_screen_is_kept_on_the_device_and_asked_for_once(tmp_path: Path) -> None:
    """Without a book; a word on the line goes before it; a file of nonsense is as good as none."""
    assert run("screen --json").out.split() == ["{", '"screen":', '"plain"', "}"]
    assert run("screen linear").code == 0
    assert '"linear"' in run("screen --json").out
    assert '"high-contrast"' in run("screen --json --screen high-contrast").out
    assert '"plain"' in run("screen --json", WELDCAL_SCREEN="plain").out
    (kept,) = tmp_path.rglob("screen")
    assert stat.S_ISREG(kept.stat().st_mode)
    kept.write_bytes(b"\xff\xfe")
    assert '"plain"' in run("screen --json").out
