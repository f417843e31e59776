"""The demo: an invented roof, by real commands, left to play with."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from pathlib import Path
from typing import Any

import pexpect
import pytest

from weldcal.cli.main import main


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int, str]:
    """The demo run once: its book, exit code and output."""
    path = tmp_path_factory.mktemp("demo") / "demo.sqlite"
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        code = main(["demo", str(path), "--all"])
    return path, code, said.getvalue()


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The morning as it is told, line by line, on 80 columns."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said), pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "80")
        patch.chdir(tmp_path_factory.mktemp("told"))  # the book's name as a newcomer sees it
        assert main(["demo"]) == 0
    return said.getvalue().splitlines()


def test_one_morning_is_told_in_under_60_lines(told: list[str]) -> None:
    """From unsure to a pull, a go-ahead, a new speed at ten, a bad check, the cause, the evening."""
    assert len(told) < 60
    assert max(map(len, told)) <= 80
    rest = "\n".join(told)
    for text in (
        "made up",
        "NOT SURE",
        "nothing welded today was pulled and held",
        "S6 is a go-ahead",
        "was 5.5",
        "SURE ENOUGH",
        "OUTSIDE THE LIMITS",
        "STOP: ",
        "cord on its reel",
        "S8 is a go-ahead",
        "FIRST TOMORROW",
        "every hash and link holds",
    ):
        assert text in rest
        rest = rest.partition(text)[2]


def test_each_screen_says_to_whom_it_matters(told: list[str]) -> None:
    """One line before every screen, and each of the crew has at least one."""
    whys = [n for n, row in enumerate(told) if row[2:3] == ":" and row[:2].isdecimal()]
    assert all(told[n + 1].startswith("$ weldcal ") for n in whys)
    assert {told[n][7:].partition(":")[0] for n in whys} == {
        "Operator",
        "Inspector",
        "Foreman",
        "Owner",
    }


def test_played_it_ends_in_a_day_of_the_readers_own(tmp_path: Path) -> None:
    """A screen at a time by Enter; then the guided day of the next morning, to type in."""
    path = tmp_path / "d.sqlite"
    child = pexpect.spawn(
        sys.executable,
        ["-c", "from weldcal.cli.main import run; run()", "demo", "--play", str(path)],
        encoding="utf-8",
        timeout=110,
        dimensions=(24, 80),
        cwd=tmp_path,
    )
    screens = 0
    while child.expect(["q leaves: $", "Who is working\\?.*: $"]) == 0:
        screens += 1
        child.sendline("")
    assert screens >= 8
    child.sendline("")
    child.expect("Air.*: $")
    child.sendline("61")
    child.expect("Sheet.*: $")
    child.sendline("q")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_the_demo_runs_to_its_end_and_says_it_is_invented(ran: Any) -> None:
    """Exit code 0; and it says where the book is."""
    path, code, said = ran
    assert code == 0
    assert "made up" in said
    assert str(path) in said.replace("\n", "")
    assert "every hash and link holds" in " ".join(said.split())


def test_the_demo_tells_the_whole_job(ran: Any) -> None:
    """Three mornings' strips, a hot afternoon, cold work found, mended and probed again."""
    said = " ".join(ran[2].split())
    for text in (
        "strip record",
        "strip pull",
        "$ weldcal dial",
        "WARNING, no valid go-ahead",
        "bleed ",
        "probe ",
        "mend F1",
        "peel ",
        "amend ",
        "settle ",
        "BEFORE HOT AIR TODAY",
        "Advice is not a go-ahead",
        "$ weldcal roof",
        "$ weldcal trace",
        "$ weldcal verify",
    ):
        assert text in said
    assert said.count("BEFORE HOT AIR TODAY") >= 3


def test_the_demos_book_goes_on(ran: Any, weldcal: Any) -> None:
    """An ordinary book: it verifies, it shows a cold joint mended, it takes another strip."""
    path, _code, _said = ran
    weldcal.book = path
    weldcal.ok("verify")
    assert len({row["day"] for row in weldcal.query("SELECT day FROM strips")}) >= 3
    cold = weldcal.query(
        "SELECT f.id FROM findings f JOIN mends m ON m.finding = f.id WHERE f.kind = 'cold'"
    )
    assert cold
    states = {seam["state"] for seam in weldcal.ok("roof --json").json["seams"]}
    assert len(states) >= 3
    weldcal.ok("strip record --nozzle 932 --speed 5 --bleed 1/4,1/4,1/4 --bubbling none --by AR")


def test_the_demo_writes_over_nothing(weldcal: Any, tmp_path: Path) -> None:
    """A file that is there stays as it is."""
    there = tmp_path / "mine.sqlite"
    there.write_text("mine")
    refused = weldcal(f"demo {there}")
    assert (refused.code, len(refused.err.splitlines())) == (2, 1)
    assert there.read_text() == "mine"


def test_the_demo_leaves_the_persons_own_book_alone(job: Any, tmp_path: Path) -> None:
    """WELDCAL_BOOK is set, and not touched."""
    before = job.entries()
    assert job.ok("demo", str(tmp_path / "d.sqlite"), "--quiet").code == 0
    assert job.entries() == before
    assert os.environ["WELDCAL_BOOK"] == str(job.book)


def test_the_demo_asks_nothing_at_a_real_terminal(tmp_path: Path) -> None:
    """README's first command runs through; output caught by a pipe would hide a prompt."""
    path = tmp_path / "d.sqlite"
    child = pexpect.spawn(
        sys.executable,
        ["-c", "from weldcal.cli.main import run; run()", "demo", str(path)],
        encoding="utf-8",
        timeout=110,
        dimensions=(24, 80),
        cwd=tmp_path,
    )
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert "hash and link holds" in " ".join((child.before or "").split())


def test_after_the_demo_nobody_is_asked_who_did_it(ran: Any, weldcal: Any) -> None:
    """The demo's device types for its operator, so that the pages' commands work as printed."""
    weldcal.book = ran[0]
    assert "entered by" not in " ".join(ran[2].split())
    weldcal.ok("strip record --nozzle 932 --speed 5 --bleed 1/4,1/4,1/4 --bubbling none")
