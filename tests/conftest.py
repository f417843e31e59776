"""What the tests stand on: a book of their own, a clock they set, the program as a person types it."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shlex
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import Phase, settings

import tests.environment
import tests.row_check
from tests.one_of_each import DAY
from weldcal.cli.main import main

# The same examples every time, so that a red run can be run again;
# HYPOTHESIS_PROFILE=search looks for new ones.
settings.register_profile(
    "suite",
    derandomize=True,
    deadline=None,
    max_examples=60,
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
)
settings.register_profile("search", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "suite"))

tests.row_check.watch()

ZONE = ZoneInfo("America/Denver")
STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"
JOB = (
    'job new "School roof" --units us --zone America/Denver --by "Ana Ruiz" '
    '--sheet "base: polyester-reinforced SBS base sheet" --machine "blue: ft/min 1-20 step 0.5" '
    '--person "Ana Ruiz: AR, operator" --person "Ben Okoro: BO, inspector"'
)


@dataclass
class Clock:
    """A clock on the job's roof, set by hand. It starts on Monday 2026-06-01, 07:00."""

    moment: datetime = datetime(2026, 6, 1, 7, 0, tzinfo=ZONE)

    def __call__(self) -> datetime:
        return self.moment.astimezone(UTC)

    def set(self, time: str, *, days: int = 0) -> None:
        """Go to a time of the day, `days` later."""
        hour, minute = map(int, time.split(":"))
        self.moment = self.moment.replace(hour=hour, minute=minute) + timedelta(days=days)


@dataclass(frozen=True)
class Result:
    """What one command came to."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Its one JSON document."""
        return json.loads(self.out)


@dataclass
class Weldcal:
    """The program, run in this process on one book; `ok` also expects exit code 0."""

    book: Path
    capsys: pytest.CaptureFixture[str]
    clock: Clock = field(default_factory=Clock)

    def __call__(self, *words: str) -> Result:
        """Run one command: a line as typed, or its words one by one."""
        typed = shlex.split(words[0]) if len(words) == 1 else list(words)
        self.capsys.readouterr()
        code = main(["--book", str(self.book), *typed], clock=self.clock)
        shown = self.capsys.readouterr()
        return Result(code, shown.out, shown.err)

    def ok(self, *words: str) -> Result:
        """Run one command that must do its work."""
        done = self(*words)
        assert (done.code, done.err) == (0, "")
        return done

    def refused(self, *words: str) -> str:
        """Run one command that must be refused: its one line; nothing is recorded."""
        before = self.entries()
        done = self(*words)
        assert done.code == 2
        assert self.entries() == before
        (line,) = done.err.splitlines()
        return line

    def day(self, log: str) -> None:
        """Run a day's log: lines of `HH:MM command`; `+` begins the next day."""
        for line in filter(None, map(str.strip, log.splitlines())):
            if line == "+":
                self.clock.moment += timedelta(days=1)
                continue
            time, _, words = line.partition(" ")
            self.clock.set(time)
            self.ok(words)

    def query(self, sql: str, *values: object) -> list[sqlite3.Row]:
        """Rows straight from the file."""
        with contextlib.closing(sqlite3.connect(self.book)) as connection:
            connection.row_factory = sqlite3.Row
            return connection.execute(sql, values).fetchall()

    def entries(self) -> list[dict[str, Any]]:
        """What the entries say, in order; none where there is no book."""
        if not self.book.exists():
            return []
        return [
            json.loads(row["body"]) for row in self.query("SELECT body FROM entries ORDER BY tick")
        ]

    def seam(self, name: str) -> dict[str, Any]:
        """A seam as the roof has it."""
        return next(s for s in self.ok("roof --json").json["seams"] if s["name"] == name)


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test sees or touches a book, a name or a language of the person who runs it."""
    for name in [name for name in os.environ if name.startswith("WELDCAL_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("WELDCAL_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    monkeypatch.delenv("XDG_STATE_HOME", raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    for name, value in tests.environment.SET.items():
        monkeypatch.setenv(name, value)


@pytest.fixture
def book_path(tmp_path: Path) -> Path:
    """Where this test's book lives; there is none yet."""
    return tmp_path / "book.sqlite"


@pytest.fixture
def weldcal(book_path: Path, capsys: pytest.CaptureFixture[str]) -> Weldcal:
    """The program on a book that does not exist yet."""
    return Weldcal(book_path, capsys)


@pytest.fixture(scope="session")
def _school(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with one job, made once."""
    path = tmp_path_factory.mktemp("school") / "book.sqlite"
    clock = Clock()
    clock.set("06:40")
    for line in (JOB, 'me "Ana Ruiz"', "seam add A1-A3 --length 33ft"):
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["--book", str(path), *shlex.split(line)], clock=clock) == 0
    return path


@pytest.fixture
def job(weldcal: Weldcal, _school: Path) -> Weldcal:
    """The program on a job: Ana Ruiz types; seams A1 to A3 of 33 ft; machine blue, sheet base."""
    shutil.copyfile(_school, weldcal.book)
    return weldcal


@pytest.fixture(scope="session")
def _one_of_each(tmp_path_factory: pytest.TempPathFactory, _school: Path) -> Path:
    """The job with one of nearly everything, made once."""
    path = tmp_path_factory.mktemp("one-of-each") / "book.sqlite"
    shutil.copyfile(_school, path)
    clock = Clock()
    for line in filter(None, map(str.strip, DAY.splitlines())):
        time, _, words = line.partition(" ")
        clock.set(time)
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["--book", str(path), *shlex.split(words)], clock=clock) == 0, line
    return path


@pytest.fixture
def one_of_each(weldcal: Weldcal, _one_of_each: Path) -> Weldcal:
    """The program on a job with one of nearly everything (`tests.one_of_each`); 16:00."""
    shutil.copyfile(_one_of_each, weldcal.book)
    weldcal.clock.set("16:00")
    return weldcal


@pytest.fixture
def go_ahead(job: Weldcal) -> Weldcal:
    """The job with strip S1 recorded and pulled: a go-ahead at 932 F, 5.5 ft/min."""
    job.clock.set("06:45")
    job.ok(STRIP)
    job.clock.set("07:00")
    job.ok("strip pull S1 good --parted compound")
    return job


@pytest.fixture
def welded_whole(go_ahead: Weldcal) -> Weldcal:
    """The go-ahead, and A1, A2, A3 welded on it one after the other, 33 ft each; 10:00."""
    for n in range(3):
        go_ahead.day(f"""
            07:{20 + 10 * n} seam start A{n + 1} --nozzle 932 --speed 5.5
            07:{27 + 10 * n} seam finish A{n + 1} --to 33
        """)
    go_ahead.clock.set("10:00")
    return go_ahead


@pytest.fixture
def fresh(book_path: Path) -> Callable[..., subprocess.CompletedProcess[str]]:
    """The program in an interpreter of its own: `fresh("roof")`."""

    def run(line: str, *, before: str = "", **options: Any) -> subprocess.CompletedProcess[str]:
        code = f"{before}\nfrom weldcal.cli.start import run\nrun()"
        words = [sys.executable, "-c", code, "--book", str(book_path), *shlex.split(line)]
        return subprocess.run(
            words, capture_output=True, text=True, timeout=60, check=False, **options
        )

    return run


@pytest.fixture
def frozen(tmp_path: Path) -> Iterator[Callable[[Path], None]]:
    """Take away every right to write a path; given back when the test ends."""
    modes: list[tuple[Path, int]] = []

    def freeze(path: Path) -> None:
        modes.append((path, path.stat().st_mode))
        path.chmod(0o555 if path.is_dir() else 0o444)

    yield freeze
    for path, mode in reversed(modes):
        path.chmod(mode)
