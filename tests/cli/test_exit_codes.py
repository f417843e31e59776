"""0 yes or done, 1 the answer is no, 2 not understood, 130 broken off; and what every program says."""

from __future__ import annotations

import os
import re
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pexpect
import pytest

from weldcal import __version__

Sit = Callable[..., Any]
PROGRAM = "from weldcal.cli.start import run; run()"


@pytest.mark.parametrize("line", ["--version", "--version roof", "dial --version"])
def test_the_version(weldcal: Any, line: str) -> None:
    """Wherever it is typed before a command's own options; no book is made."""
    done = weldcal(line)
    if line.startswith("--"):
        assert (done.code, done.out) == (0, f"weldcal {__version__}\n")
    else:
        assert done.code == 2
    assert not weldcal.book.exists()


@pytest.mark.parametrize("path", ["", "strip", "strip record", "probe", "machine list"])
def test_h_is_help(weldcal: Any, path: str) -> None:
    """The short form says what the long one says."""
    assert weldcal.ok(f"{path} -h".strip()).out == weldcal.ok(f"{path} --help".strip()).out


def test_what_belongs_to_the_job_is_listed(job: Any) -> None:
    """Machines, people and sheets, a line each, and as JSON."""
    assert job.ok("machine list").out == "Machine blue: 1–20 ft/min, step 0.5\n"
    assert job.ok("person list").out.splitlines() == [
        "Person Ana Ruiz: AR, operator",
        "Person Ben Okoro: BO, inspector",
    ]
    assert job.ok("sheet list").out == "Sheet base: polyester-reinforced SBS base sheet\n"
    assert [row["name"] for row in job.ok("person list --json").json] == ["Ana Ruiz", "Ben Okoro"]


def test_a_job_without_machines_says_how_to_add_one(weldcal: Any) -> None:
    """Nothing listed is said, with the command that lists one."""
    weldcal.ok('job new "Bare" --units us --zone UTC')
    assert "weldcal machine add --help" in weldcal.ok("machine list").out
    assert "weldcal person add --help" in weldcal.ok("person list").out


def test_a_no_is_1_and_what_is_not_understood_2(go_ahead: Any) -> None:
    """The same command, by what it finds."""
    assert go_ahead("go-ahead").code == 0
    assert go_ahead("go-ahead --lap sideways").code == 2
    go_ahead.clock.set("15:00")
    assert go_ahead("go-ahead").code == 1
    assert go_ahead("verify").code == 0


def left(job: Any, keys: Callable[[Any], None], *words: str) -> int:
    """The exit code of the program at a terminal, left by these keys at its first question."""
    child = pexpect.spawn(
        sys.executable,
        ["-c", PROGRAM, *words],
        encoding="utf-8",
        timeout=30,
        dimensions=(24, 80),
        env={**os.environ, "WELDCAL_BOOK": str(job.book)},
    )
    child.expect(r": $")
    time.sleep(0.5)  # a signal between the prompt and Python's read would wait for the next key
    keys(child)
    child.expect(pexpect.EOF)
    child.close()
    assert child.signalstatus is None
    return int(child.exitstatus)


@pytest.mark.parametrize("words", [(), ("strip", "record")])
def test_broken_off_is_130(job: Any, words: tuple[str, ...]) -> None:
    """Ctrl-C and the end of what is typed, in the guided day and in a command that asks."""
    assert left(job, lambda child: child.sendintr(), *words) == 130
    assert left(job, lambda child: child.sendeof(), *words) == 130


def test_leaving_the_day_by_its_own_word_is_done(job: Any) -> None:
    """`q` is an answer."""
    assert left(job, lambda child: child.sendline("q")) == 0


def test_the_codes_stand_in_the_help_and_on_a_page(weldcal: Any) -> None:
    """Said once each, the same four."""
    page = (Path(__file__).parents[2] / "docs" / "more.md").read_text()
    said = " ".join(weldcal.ok("--help").out.split())
    for code in ("0", "1", "2", "130"):
        assert re.search(rf"\b{code} \w", said.partition("Exit codes:")[2])
        assert f"| `{code}` |" in page


def test_limits_are_shown_in_the_jobs_units(job: Any) -> None:
    """A difference of 5 K is 9 °F on a job in °F; what was adopted stands as it was typed."""
    job.ok("limit set look_wind_moved 4m/s --source 'site rule' --by 'Ana Ruiz'")
    said = job.ok("limit list").out
    assert "look_ambient_moved: 9 °F (" in said
    assert "wait_air_too_cold: 41 °F (" in said
    assert "look_wind_moved: 4m/s (" in said
