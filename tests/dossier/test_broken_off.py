"""Long pages: a bar on a terminal only, and Ctrl-C or a kill leaves whole files or none."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pexpect
import pytest

from tests.interrupting import breaks_off_clean
from weldcal import long_work
from weldcal.cli import progress

# A program in which everything lasts: each beat waits, and a bar is drawn at once.
_SLOW = """
import sys, time
from weldcal import long_work
from weldcal.cli import progress
long_work._EVERY, progress._SOON_S, drawn = 1, {soon}, progress._Bar.on_progress
def slow(self, *told):
    drawn(self, *told)
    time.sleep({wait})
progress._Bar.on_progress = slow
from weldcal.cli.main import run
run()
"""


def slowly(book: Path, *words: str, soon: float = 0.0, wait: float = 0.15) -> Any:
    """The program in a terminal of its own, slowed down."""
    code = _SLOW.format(soon=soon, wait=wait)
    return pexpect.spawn(
        sys.executable,
        ["-c", code, "--book", str(book), *words],
        encoding="utf-8",
        timeout=30,
        dimensions=(24, 100),
    )


def test_a_dossier_broken_off_anywhere_leaves_the_one_before(
    quarry: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four files of one moment: all are new, or none is, and no half one lies beside."""
    monkeypatch.setattr(long_work, "_EVERY", 20)
    files = [tmp_path / f"d{end}" for end in ("-findings.csv", "-seams.csv", ".html", ".pdf")]
    for file in files:
        file.write_text("earlier")

    def done() -> bool:
        new = [file.read_bytes() != b"earlier" for file in files]
        assert len(set(new)) == 1
        return new[0]

    assert breaks_off_clean(quarry, f"dossier {tmp_path / 'd'}", monkeypatch, done=done) > 10


@pytest.mark.parametrize("words", ["evening --pdf {}", "evening --html {}", "history --pdf {}"])
def test_a_page_broken_off_leaves_no_file(
    quarry: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str
) -> None:
    """The evening page and the look back."""
    file = tmp_path / "page"
    assert breaks_off_clean(quarry, words.format(file), monkeypatch, done=file.exists) > 1


def test_ctrl_c_in_a_terminal_takes_the_bar_away_and_says_so_in_one_line(
    quarry: Any, tmp_path: Path
) -> None:
    """A key really pressed: the bar is drawn, then 130, the line, the cursor back, no file."""
    child = slowly(quarry.book, "dossier", str(tmp_path / "d"))
    child.expect("tables")
    child.sendintr()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    last = child.before[child.before.rindex("weldcal: ") :]
    assert last.startswith("weldcal: left")
    assert child.before.rindex("\x1b[?25h") < child.before.rindex("weldcal: ")
    assert "Traceback" not in child.before
    assert list(tmp_path.glob("d[.-]*")) == []


def test_a_kill_leaves_the_file_that_was_there(quarry: Any, tmp_path: Path) -> None:
    """No chance to tidy up: whatever lies beside bears no name that a reader would open."""
    for end in (".html", ".pdf"):
        (tmp_path / f"d{end}").write_text("earlier")
    child = slowly(quarry.book, "dossier", str(tmp_path / "d"), wait=0.05)
    child.expect("d.html")
    child.kill(9)
    child.expect(pexpect.EOF)
    child.close()
    assert {p.suffix for p in tmp_path.glob("d[.-]*") if p.read_text() != "earlier"} <= {".part"}
    assert (tmp_path / "d.html").read_text() == (tmp_path / "d.pdf").read_text() == "earlier"


def test_short_work_draws_no_bar(quarry: Any) -> None:
    """On a terminal too: under a second there is nothing to see but the answer."""
    child = slowly(quarry.book, "verify", soon=60.0, wait=0.0)
    child.expect(pexpect.EOF)
    assert "\x1b[" not in child.before
    assert "every hash and link holds" in " ".join(child.before.split())


def test_json_draws_no_bar(quarry: Any) -> None:
    """Not even on a terminal."""
    child = slowly(quarry.book, "verify", "--json", wait=0.0)
    child.expect(pexpect.EOF)
    assert child.before.lstrip().startswith("{")


def test_a_bar_shows_no_name_as_markup() -> None:
    """A file's name cannot colour the bar or move the cursor."""
    bar = progress._Bar()
    bar._began -= 60
    bar.on_progress("[red]x\x1b[2J", 1, 2)
    assert bar._drawn.tasks[0].description == "\\[red]x␛[2J"
    bar.clear()
