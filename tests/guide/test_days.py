"""Each person's day at a real terminal, narrow and wide, with mistakes, interruptions and a dead battery."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pexpect
import pytest

import weldcal as package
from tests.guide.recorded import kinds

Sit = Callable[..., Any]
WIDTHS = pytest.mark.parametrize("columns", [40, 80])


@WIDTHS
def test_an_operators_morning(job: Any, terminal: Sit, columns: int) -> None:
    """Conditions to the first lap finished, one answer after another, in a minute."""
    job.ok("limit set cool_least 0 --source 'sheet maker' --by 'Ana Ruiz'")
    job.clock.set("07:10")
    t = terminal(columns)
    t.type("weldcal", "", "61", "seventy", "74", "5mph", "", "")
    t.asked("Enter: read, and seen to")
    assert "Never type while the machine travels" in " ".join(t.seen.split())
    t.type("")
    t.asked("Enter works out the speed")
    t.type("")
    t.asked("Nozzle, as set")
    assert "Set 5.5 ft/min" in t.seen
    # The speed is typed: the one offered is what teaches most, and two are nearly level here.
    t.type("9320", "932", "5.5", "1/4,3/16,5/16,1/4", "bubbles", "n", "b", "none", "")
    t.asked("S1 cooled down? The pull was")
    shown = " ".join(t.seen.split())
    assert (
        "Same as: weldcal strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16,1/4" in shown
    )
    assert "Strip S1 recorded" in shown
    t.type("", "g", "", "")
    t.asked("Weld next")
    assert "S1 is a go-ahead for blue on base" in " ".join(t.seen.split())
    t.type("", "", "", "14", "3/16,1/4", "", "")
    t.asked("welded to (its end is 33)")
    t.type("33")
    t.asked("Weld next")
    t.type("q")
    t.asked("ready$")
    assert t.too_wide() == []
    assert kinds(job) == ["conditions", "strip", "pull", "run", "bleed", "run-finish"]
    (strip,) = [e["payload"] for e in job.entries() if e["kind"] == "strip"]
    assert [c["name"] for c in strip["conditions"]["carried"]] == ["ambient", "sheet_temp", "wind"]
    assert job.seam("A1")["state"] == "unprobed"


@WIDTHS
def test_an_inspectors_walks(go_ahead: Any, terminal: Sit, columns: int) -> None:
    """A walk with a void and a typing mistake, the battery dead in the middle; the mend probed again."""
    go_ahead.day(
        "07:30 seam start A1 --nozzle 932 --speed 5.5\n07:37 seam finish A1 --to 33\n"
        "07:40 seam start A2 --nozzle 932 --speed 5.5\n07:47 seam finish A2 --to 33"
    )
    go_ahead.clock.set("10:00")
    t = terminal(columns)
    t.type("weldcal", "ben")
    t.asked("Probe A1, 0–33 ft, welded 3 h ago")
    t.type("", "void 14.5 3in", "thirty")
    t.kill()
    go_ahead.clock.set("10:04")
    t = terminal(columns)
    t.type("weldcal", "")
    t.asked("Noted: void 14.5 3in. Anything else? Sound to")
    t.type("")
    t.asked("Probe A2")
    t.type("b", "m", "", "", "12in", "")
    t.asked("Probe A2")
    t.type("q")
    t.asked("ready$")
    assert t.too_wide() == []
    go_ahead.clock.set("10:20")  # the mend is cold
    t = terminal(columns)
    t.type("weldcal", "", "A1", "", "q")
    t.asked("ready$")
    assert t.too_wide() == []
    walks = go_ahead.query(
        "SELECT seam, start_m, end_m, started_utc, ended_utc, seen_by FROM walks ORDER BY tick"
    )
    assert [w["seam"] for w in walks] == ["A1", "A1"]
    assert walks[0]["seen_by"] == "Ben Okoro"
    assert walks[0]["started_utc"][11:16] == "16:00"
    assert walks[0]["ended_utc"][11:16] == "16:04"
    assert go_ahead.seam("A1")["mended_unprobed"] == []


@WIDTHS
def test_a_foremans_evening(go_ahead: Any, terminal: Sit, columns: int) -> None:
    """Warning answered, page of the day, seal, hand; interrupted by Ctrl-C on the way."""
    go_ahead.day("07:30 seam start A1 --nozzle 932 --speed 9\n07:37 seam finish A1 --to 33")
    go_ahead.ok('person add "Cleo Vann: CV, foreman"')
    go_ahead.clock.set("17:00")
    t = terminal(columns)
    t.type("weldcal", "cv")
    t.asked("Warning to answer: R1 on A1")
    t.type("", "lap probed whole")
    t.ctrl_c()
    t.type("weldcal", "")
    t.asked("R1: lap probed whole. Enter records it")
    t.type("", "55", "", "owner's representative", "", "")
    t.asked("Write the dossier now?")
    t.type("")
    t.asked("What do you want to do?")
    t.type("q")
    t.asked("ready$")
    assert t.too_wide() == []
    assert "The evening is done" in t.seen
    assert kinds(go_ahead)[-3:] == ["settle", "seal", "handed"]


def test_the_first_run_leads_into_a_job(weldcal: Any, job: Any, terminal: Sit) -> None:
    """No book yet: a few questions, a job, and the day begins; left and taken up on the way."""
    job.book.unlink()
    t = terminal(40)
    t.type("weldcal", "School roof", "yards")
    t.ctrl_c()
    t.type("weldcal")
    t.asked("Units")
    t.type("si", "Nowhere", "denver", "", "red", "", "0.5-6", "Ana Ruiz", "")
    t.asked("Enter begins it")
    t.type("")
    t.asked("Air")
    t.type("q")
    t.asked("ready$")
    assert t.too_wide() == []
    assert job.ok("job show").out.startswith("Job School roof: units si, time zone America/Denver")
    assert not list(Path(job.book.parent).glob("*.draft-*.part"))


def test_what_was_left_for_later_is_not_said_to_be_done(go_ahead: Any, terminal: Sit) -> None:
    """Laps put off are still to be welded; walked seams are walked."""
    go_ahead.ok("conditions --ambient 61F")
    t = terminal()
    t.type("weldcal", "")
    t.asked("Weld next")
    t.type("l")
    t.asked("What do you want to do?")
    assert "Left for later: start." in t.seen
    assert "Nothing is left" not in t.seen
    t.type("q", "weldcal day --for inspector", "")
    t.asked("What do you want to do?")
    assert "Nothing is left to probe." in t.seen
    t.type("q")
    t.asked("ready$")


def test_the_next_morning_says_in_a_word_why_yesterdays_go_ahead_is_over(
    go_ahead: Any, terminal: Sit
) -> None:
    """Another day, and not all that follows from it."""
    go_ahead.day(
        "07:20 seam start A1 --nozzle 932 --speed 5.5\n07:22 bleed A1 3 9/16\n07:27 seam finish A1 --to 33"
    )
    go_ahead.clock.set("07:00", days=1)
    t = terminal()
    t.type("weldcal", "")
    shown = " ".join(t.asked("Air").split())
    assert "Go-ahead S1 no longer stands: it was of another day (2026-06-01)." in shown
    t.type("q")
    t.asked("ready$")


def test_undo_is_left_with_q_from_within(go_ahead: Any, terminal: Sit) -> None:
    """A word for leaving is no reason: nothing is taken back."""
    t = terminal()
    t.type("weldcal", "", "b", "undo", "", "q")
    t.asked("ready$")
    assert go_ahead.query("SELECT * FROM withdrawn") == []


def test_bubbling_is_said_as_in_a_line_or_a_file(job: Any, terminal: Sit) -> None:
    """`some` is a trace, wherever it is typed."""
    job.day("07:00 conditions --ambient 61F\n07:01 dial")
    t = terminal()
    t.type("weldcal", "", "", "932", "5.5", "1/4,3/16,1/4", "some", "")
    t.asked("Nozzle")
    assert "good strip" not in " ".join(t.seen.split()).replace("no good strip yet", "")
    t.type("q")
    t.asked("ready$")
    assert job.query("SELECT bubbling FROM strips")[0][0] == "trace"


def test_bytes_that_are_no_text_are_asked_again(job: Any, terminal: Sit) -> None:
    """A key of another code page: no traceback, nothing recorded."""
    t = terminal()
    t.type("weldcal", "")
    t.asked("Air")
    t.waiting = False
    t.child.ptyproc.write(b"6\xff\r")
    t.asked("Air")
    t.type("b")
    t.asked("What do you want to do?")
    t.type("seams")
    t.asked("Seams to weld")
    t.waiting = False
    t.child.ptyproc.write(b"A\xff\r")
    t.asked("Seams to weld")
    t.type("q")
    t.asked("ready$")
    assert "inside" not in t.seen
    assert kinds(job) == []


def test_a_slip_is_taken_back_from_within(go_ahead: Any, terminal: Sit) -> None:
    """A lap begun by mistake: the list, undo, and it counts no more."""
    go_ahead.ok("conditions --ambient 61F")
    t = terminal()
    t.type("weldcal", "", "", "", "b")
    t.asked("What do you want to do?")
    t.type("undo", "", "")
    t.asked("Weld next")
    t.type("q")
    t.asked("ready$")
    assert go_ahead.query("SELECT * FROM runs") == []


@WIDTHS
def test_a_morning_in_spanish(job: Any, terminal: Sit, columns: int) -> None:
    """Asked in Spanish where there is a catalog, answered in Spanish, recorded the same."""
    job.ok("limit set cool_least 0 --source 'sheet maker' --by 'Ana Ruiz'")
    job.clock.set("07:10")
    t = terminal(columns, WELDCAL_LANG="es")
    t.type("weldcal", "", "61", "atrás", "61", "74", "a", "74", "", "", "")  # conditions
    t.type("", "", "932", "", "1/4 3/16 5/16", "1", "atras", "1", "")  # cautions, dial, strip
    t.asked("S1")
    t.type("1", "", "")  # pull
    t.asked("A1")
    t.type("salir")
    t.asked("ready$")
    assert t.too_wide() == []
    assert kinds(job) == ["conditions", "strip", "pull"]
    (row,) = job.query("SELECT bubbling, bond, readings_n FROM strips")
    assert tuple(row) == ("none", "good", 3)
    if (Path(package.__file__).parent / "locale" / "es").is_dir():
        assert "Speed on the dial" not in t.seen
        assert "Never type" not in t.seen


def test_the_first_question_waits_for_nothing_heavy(job: Any) -> None:
    """Neither typer nor what reads the day is there when it is asked."""
    tell = (
        "import builtins, sys\n"
        "def told(question):\n"
        "    print('ASKED', *(m for m in ('typer', 'rich', 'numpy', 'weldcal.book.day') if m in sys.modules))\n"
        "    raise EOFError\n"
        "builtins.input = told\n"
        "from weldcal.cli.start import run\n"
        "sys.argv = ['weldcal']\n"
        "run()"
    )
    child = pexpect.spawn(
        sys.executable, ["-c", tell], encoding="utf-8", timeout=20, dimensions=(40, 80)
    )
    child.expect(r"ASKED([^\r\n]*)")
    assert child.match[1].strip() == ""
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130  # broken off there
