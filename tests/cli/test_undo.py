"""Taking back what was recorded by mistake: readable still, counting nowhere, on every device alike."""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

import pexpect
import pytest

from tests.cli.undone import count, every_page


def test_the_last_thing_is_taken_back_step_by_step(mended_day: Any) -> None:
    """The mend, then the walk with its finding, then the finish ... each time the last that still counts."""
    expected = ["M1", "W1, F1", "finish of R1", "B1", "R1", "pull of S1", "S1"]
    states = [
        "open findings",
        "unprobed",
        "in work",
        "in work",
        "not started",
        "not started",
        "not started",
    ]
    for n, (name, state) in enumerate(zip(expected, states, strict=True)):
        mended_day.clock.set(f"10:{n:02}")
        assert f"Taken back: {name}." in mended_day.ok("undo --yes").out
        assert mended_day.seam("A1")["state"] == state
        every_page(mended_day)
    mended_day.clock.set("10:30")
    mended_day.ok("undo --yes")  # the conditions
    mended_day.ok("undo --yes")  # the seams, listed at one moment
    assert [row["name"] for row in mended_day.query("SELECT name FROM seams")] == ["A1", "A2", "A3"]


def test_what_was_taken_back_comes_back_in_order(mended_day: Any) -> None:
    """Everything taken back and put back again: the rows are what they were, marks and all."""
    before = {
        t: [dict(r) for r in mended_day.query(f"SELECT * FROM {t} ORDER BY id")]
        for t in ("strips", "runs", "walks", "findings", "mends", "bleeds", "readings")
    }
    for n in range(6):
        mended_day.clock.set(f"10:{n:02}")
        mended_day.ok("undo --yes")
    for n in range(6):
        mended_day.clock.set(f"11:{n:02}")
        assert "counts again" in mended_day.ok("undo --back --yes").out
    for table, rows in before.items():
        now = [dict(row) for row in mended_day.query(f"SELECT * FROM {table} ORDER BY id")]
        assert now == rows
    mended_day.ok("undo M1 --yes")
    mended_day.ok("undo M1 --back --yes")
    assert mended_day.query("SELECT * FROM amendments WHERE conflict") == []
    assert count(mended_day, "withdrawn") == 0
    every_page(mended_day)


def test_what_was_put_back_is_not_amended_and_a_correction_still_is(mended_day: Any) -> None:
    """A seam, a strip's pull: put back they bear no mark; while a part is gone, the rest says so."""

    def flags(table: str) -> list[str]:
        return list(json.loads(mended_day.query(f"SELECT flags FROM {table} LIMIT 1")[0]["flags"]))

    mended_day.ok("undo A2 --yes")
    mended_day.ok("undo A2 --back --yes")
    assert "amended" not in mended_day.seam("A2")["flags"]
    mended_day.ok("undo S1 --yes")
    mended_day.ok("undo S1 --back --yes")
    assert "amended" not in flags("strips")
    mended_day.ok("amend S1 bubbling trace --why 'read again'")
    mended_day.ok("undo S1 --yes")
    mended_day.ok("undo S1 --back --yes")
    assert "amended" in flags("strips")


def test_it_is_shown_before_and_nothing_is_taken_back_with_nobody_there(mended_day: Any) -> None:
    """What it said, by whom and when; exit code 2 and --yes."""
    before = mended_day.entries()
    done = mended_day("undo")
    assert done.code == 2
    assert "mend from 14 ft to 15 ft 3 in: patch; patch size 12 in on A1" in done.out
    assert "--yes" in done.err
    assert mended_day.entries() == before
    assert mended_day("undo --json").out == ""


def test_the_entry_stays_readable_with_who_and_why(mended_day: Any) -> None:
    """In the trace, the entries, and in the words of the refusal to use it."""
    old = mended_day.entries()
    mended_day.ok('undo F1 --yes --why "wrong seam" --by BO')
    assert mended_day.entries()[: len(old)] == old
    shown = mended_day.ok("trace A1").out
    assert "TAKEN BACK: F1 finding: void from 14 ft 6 in to 14 ft 9 in" in " ".join(shown.split())
    assert "wrong seam; Ben Okoro" in " ".join(shown.split())
    refused = mended_day("mend F1 --method patch").err
    assert "taken back by Ben Okoro (wrong seam)" in refused
    assert "undo F1 --back" in refused


def test_a_strip_taken_back_is_no_go_ahead_and_its_runs_say_so(mended_day: Any) -> None:
    """The runs stay welded; the roof, the trace and the dial know."""
    shown = mended_day.ok("undo S1 --yes").out
    assert "Welded on it: R1" in shown
    assert "go-ahead taken back" in mended_day.seam("A1")["flags"]
    assert "No go-ahead yet" in mended_day("go-ahead").out
    assert mended_day.ok("strip list --json").json == []
    assert "TAKEN BACK: S1" in mended_day.ok("trace A1").out
    every_page(mended_day)


def test_only_the_pull_is_taken_back_where_it_was_the_slip(mended_day: Any) -> None:
    """The strip stands, not tried; a pull typed right fills it in again."""
    mended_day.clock.set("10:05")
    mended_day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    mended_day.clock.set("10:06")
    mended_day.ok("strip pull S2 good")
    mended_day.clock.set("10:07")
    assert "pull of S2: good" in mended_day.ok("undo --yes").out
    assert [s["bond"] for s in mended_day.ok("strip list --json").json] == ["good", "not tried"]
    mended_day.ok("strip pull S2 cold")
    assert [s["bond"] for s in mended_day.ok("strip list --json").json] == ["good", "cold"]


@pytest.mark.parametrize(
    ("name", "finding"), [("W1", "F1"), ("P1", "F2")], ids=["a walk", "a peel sample"]
)
def test_what_was_recorded_with_it_goes_and_comes_with_it(
    mended_day: Any, name: str, finding: str
) -> None:
    """Named, a walk takes its finding and a sample its cut, and back again."""
    mended_day.ok("peel A1 20 --parted compound --load 40lbf --width 1in")
    findings = [r["name"] for r in mended_day.query("SELECT name FROM findings ORDER BY tick")]
    assert findings == ["F1", "F2"]
    mended_day.clock.set("10:05")
    mended_day.ok(f"undo {name} --yes")
    assert [r["name"] for r in mended_day.query("SELECT name FROM findings")] == [
        f for f in findings if f != finding
    ]
    mended_day.ok(f"undo {name} --back --yes")
    assert [
        r["name"] for r in mended_day.query("SELECT name FROM findings ORDER BY tick")
    ] == findings
    assert count(mended_day, "withdrawn") == 0


def test_what_hangs_on_a_finding_is_told_before_it_is_taken_back(mended_day: Any) -> None:
    """Its mend stays."""
    assert "M1" in mended_day.ok("undo F1 --yes").out
    assert count(mended_day, "mends") == 1


def test_back_is_of_ones_own_taking_back_while_it_is_the_one_that_holds(mended_day: Any) -> None:
    """Put back and taken back anew by Ben: it is no longer Ana's to put back as her last."""
    mended_day.ok("undo M1 --yes")
    mended_day.ok('me "Ben Okoro"')
    mended_day.ok("undo M1 --back --yes")
    mended_day.ok("undo M1 --yes")
    mended_day.ok('me "Ana Ruiz"')
    assert "taken back by Ana Ruiz" in mended_day.refused("undo --back --yes")
    mended_day.ok('me "Ben Okoro"')
    mended_day.ok("undo --back --yes")
    assert count(mended_day, "withdrawn") == 0


def test_what_was_added_to_a_strip_goes_with_it(mended_day: Any) -> None:
    """A strip taken back by name: next comes what was before it, never its pull or its correction."""
    mended_day.clock.set("10:05")
    mended_day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    mended_day.clock.set("10:06")
    mended_day.ok("strip pull S2 good")
    mended_day.ok("amend S2 speed 7 --why slip")
    mended_day.ok("undo S2 --yes")
    assert "Taken back: M1." in mended_day.ok("undo --yes").out


def test_a_correction_taken_back_is_no_conflict_with_the_next(mended_day: Any) -> None:
    """The value before it stands again, and can be corrected anew."""
    mended_day.ok("amend S1 speed 6 --why slip")
    mended_day.clock.set("10:05")
    assert "correction of S1" in mended_day.ok("undo --yes").out
    assert mended_day.query("SELECT speed_text FROM strips")[0][0] == "5.5"
    mended_day.ok("amend S1 speed 5 --why slip")
    assert mended_day.query("SELECT speed_text FROM strips")[0][0] == "5"
    assert "conflict" not in mended_day.query("SELECT flags FROM strips")[0][0]
    every_page(mended_day)


def test_a_stage_taken_back_is_called_a_stage(go_ahead: Any) -> None:
    """A run's finish: the run itself still counts, and the trace says of what each line is."""
    go_ahead.day("""
        07:30 seam start A1 --nozzle 932 --speed 5.5
        07:34 seam finish A1 --to 33
        07:40 amend R1 speed 6 --why "misread the dial"
    """)
    go_ahead.ok("undo --yes")
    shown = go_ahead.ok('undo --yes --why "not yet there"').out
    assert "Taken back: finish of R1." in " ".join(shown.split())
    go_ahead.ok("undo --back --yes --why there")
    page = " ".join(go_ahead.ok("trace A1").out.split())
    for text in (
        "R1 finish taken back: not yet there; Ana Ruiz",
        "R1 finish put back: there; Ana Ruiz",
        "R1 correction taken back: typed by mistake; Ana Ruiz",
    ):
        assert text in page


def test_a_name_taken_back_is_never_given_again(mended_day: Any) -> None:
    """S1 is that strip for ever, so that S2 is the next."""
    mended_day.ok("undo S1 --yes")
    assert (
        mended_day.ok(
            "strip record --nozzle 932 --speed 6 --bleed 1/4 --bubbling none --json"
        ).json["name"]
        == "S2"
    )


def test_what_is_out_of_the_crews_hands_is_not_taken_back(mended_day: Any) -> None:
    """A seal is a seal; the thing before it can be named."""
    mended_day.ok("seal")
    assert "never taken back" in mended_day("undo --yes").err
    assert "never taken back" in mended_day("undo L1 --yes").err
    mended_day.ok("undo M1 --yes")


def test_another_persons_last_thing_is_not_taken_back_by_mistake(mended_day: Any) -> None:
    """What counts is who typed it; a name takes anybody's back, and says who did."""
    mended_day.ok('me "Ben Okoro"')
    assert "Ben Okoro" in mended_day("undo --yes").err
    mended_day.ok("undo M1 --yes")
    (row,) = mended_day.query("SELECT seen_by, withdrawn_by FROM withdrawn")
    assert tuple(row) == ("Ana Ruiz", "Ben Okoro")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("undo Q9 --yes", "Q9"),
        ("undo S9 --yes", "S1"),
        ("undo S1 --back --yes", "not taken back"),
        ("undo --back --yes", "--back"),
    ],
)
def test_what_cannot_be_taken_back_is_said(mended_day: Any, line: str, says: str) -> None:
    """Exit code 2, one line, nothing recorded."""
    before = mended_day.entries()
    done = mended_day(line)
    assert done.code == 2
    assert says in done.err
    assert mended_day.entries() == before


def test_at_a_terminal_it_asks_why_and_enter_takes_the_usual_reason(mended_day: Any) -> None:
    """Shown, asked, recorded; q and Ctrl-C leave all as it is."""
    around = {name: value for name, value in os.environ.items() if name != "COLUMNS"}

    def undo() -> Any:
        words = [
            "-c",
            "from weldcal.cli.main import run; run()",
            "--book",
            str(mended_day.book),
            "undo",
        ]
        return pexpect.spawn(
            sys.executable, words, encoding="utf-8", timeout=20, dimensions=(40, 40), env=around
        )

    child = undo()
    child.expect("> $")
    time.sleep(0.5)  # a signal between the prompt and Python's read would wait for the next key
    child.sendcontrol("c")
    child.expect(pexpect.EOF)
    child = undo()
    child.expect("> $")
    child.sendline("q")
    child.expect(pexpect.EOF)
    child = undo()
    child.expect("> $")
    child.sendline("b")
    child.expect("Nothing was taken back")
    child.expect(pexpect.EOF)
    assert count(mended_day, "withdrawn") == 0
    for typed in ("", "wrong finding"):
        child = undo()
        child.expect(r"\[typed\s+by\s+mistake\]|\[typed by")
        child.expect("> $")
        child.sendline(typed)
        child.expect("Taken back")
        child.expect(pexpect.EOF)
    assert [r["why"] for r in mended_day.query("SELECT why FROM withdrawn ORDER BY tick DESC")] == [
        "typed by mistake",
        "wrong finding",
        "wrong finding",
    ]


# -- the dossier -----------------------------------------------------------------------------------


def test_the_dossier_shows_what_was_taken_back_and_why(
    mended_day: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On page 1 and among the corrections, in words; without names where none are wanted."""
    monkeypatch.chdir(tmp_path)
    mended_day.ok('undo W1 --yes --why "wrong seam, says Ben Okoro"')
    mended_day.ok("dossier with --only html")
    page = (tmp_path / "with.html").read_text()
    for text in (
        "Records taken back as mistakes",
        "W1 probe walk 0 ft to 33 ft on A1",
        "wrong seam, says Ben Okoro",
    ):
        assert text in page
    mended_day.ok("dossier without --only html --no-people")
    page = (tmp_path / "without.html").read_text()
    assert "W1 probe walk 0 ft to 33 ft on A1" in page
    assert "Ben Okoro" not in page
    mended_day.ok("export", str(tmp_path / "tables"), "--no-people")
    assert "Ben" not in (tmp_path / "tables" / "withdrawn.csv").read_text().replace(
        "says Ben Okoro", ""
    )
