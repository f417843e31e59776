"""Taking back what was recorded by mistake: readable still, counting nowhere, on every device alike."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shlex
import sys
import time
from pathlib import Path
from typing import Any

import pexpect
import pytest

from tests.keeping import forge
from weldcal.cli.main import main

COUNTED = (
    "roof",
    "evening",
    "go-ahead",
    "doubt",
    "faults",
    "chart",
    "strip list",
    "history",
    "trace A1",
    "verify",
)


@pytest.fixture
def day(job: Any) -> Any:
    """A go-ahead, A1 welded on it, probed with a void found, the void mended; all by 10:00."""
    job.day(
        """
        06:50 seam add B1-B2 --length 33ft
        07:00 conditions --ambient 61F --sheet-temp 74F
        07:06 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none
        07:30 strip pull S1 good
        07:40 seam start A1 --nozzle 932 --speed 5.5
        07:44 bleed A1 14 3/16,1/4
        07:48 seam finish A1 --to 33
        09:10 probe A1 0-33 --void "14.5+3in x 1/2in" --by BO
        09:30 mend F1 --method patch --patch 12in
        """
    )
    job.clock.set("10:00")
    return job


def every_page(weldcal: Any) -> None:
    """Whatever was taken back, every page can be made and the tables follow from the entries."""
    for words in COUNTED:
        done = weldcal(words)
        fine = {"verify": (0,), "go-ahead": (0, 1, 2)}.get(words, (0, 2))
        assert done.code in fine, (words, done.err)
        assert "inside" not in done.err, (words, done.err)


def count(weldcal: Any, table: str) -> int:
    return int(weldcal.query(f"SELECT count(*) FROM {table}")[0][0])


def test_the_last_thing_is_taken_back_step_by_step(day: Any) -> None:
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
        day.clock.set(f"10:{n:02}")
        assert f"Taken back: {name}." in day.ok("undo --yes").out
        assert day.seam("A1")["state"] == state
        every_page(day)
    day.clock.set("10:30")
    day.ok("undo --yes")  # the conditions
    day.ok("undo --yes")  # the seams, listed at one moment
    assert [row["name"] for row in day.query("SELECT name FROM seams")] == ["A1", "A2", "A3"]


def test_what_was_taken_back_comes_back_in_order(day: Any) -> None:
    """Everything taken back and put back again: the rows are what they were, marks and all."""
    before = {
        t: [dict(r) for r in day.query(f"SELECT * FROM {t} ORDER BY id")]
        for t in ("strips", "runs", "walks", "findings", "mends", "bleeds", "readings")
    }
    for n in range(6):
        day.clock.set(f"10:{n:02}")
        day.ok("undo --yes")
    for n in range(6):
        day.clock.set(f"11:{n:02}")
        assert "counts again" in day.ok("undo --back --yes").out
    for table, rows in before.items():
        now = [dict(row) for row in day.query(f"SELECT * FROM {table} ORDER BY id")]
        assert now == rows
    day.ok("undo M1 --yes")
    day.ok("undo M1 --back --yes")
    assert day.query("SELECT * FROM amendments WHERE conflict") == []
    assert count(day, "withdrawn") == 0
    every_page(day)


def test_what_was_put_back_is_not_amended_and_a_correction_still_is(day: Any) -> None:
    """A seam, a strip's pull: put back they bear no mark; while a part is gone, the rest says so."""

    def flags(table: str) -> list[str]:
        return list(json.loads(day.query(f"SELECT flags FROM {table} LIMIT 1")[0]["flags"]))

    day.ok("undo A2 --yes")
    day.ok("undo A2 --back --yes")
    assert "amended" not in day.seam("A2")["flags"]
    day.ok("undo S1 --yes")
    day.ok("undo S1 --back --yes")
    assert "amended" not in flags("strips")
    day.ok("amend S1 bubbling trace --why 'read again'")
    day.ok("undo S1 --yes")
    day.ok("undo S1 --back --yes")
    assert "amended" in flags("strips")


def test_it_is_shown_before_and_nothing_is_taken_back_with_nobody_there(day: Any) -> None:
    """What it said, by whom and when; exit code 2 and --yes."""
    before = day.entries()
    done = day("undo")
    assert done.code == 2
    assert "mend from 14 ft to 15 ft 3 in: patch; patch size 12 in on A1" in done.out
    assert "--yes" in done.err
    assert day.entries() == before
    assert day("undo --json").out == ""


def test_the_entry_stays_readable_with_who_and_why(day: Any) -> None:
    """In the trace, the entries, and in the words of the refusal to use it."""
    old = day.entries()
    day.ok('undo F1 --yes --why "wrong seam" --by BO')
    assert day.entries()[: len(old)] == old
    shown = day.ok("trace A1").out
    assert "TAKEN BACK: F1 finding: void from 14 ft 6 in to 14 ft 9 in" in " ".join(shown.split())
    assert "wrong seam; Ben Okoro" in " ".join(shown.split())
    refused = day("mend F1 --method patch").err
    assert "taken back by Ben Okoro (wrong seam)" in refused
    assert "undo F1 --back" in refused


def test_a_strip_taken_back_is_no_go_ahead_and_its_runs_say_so(day: Any) -> None:
    """The runs stay welded; the roof, the trace and the dial know."""
    shown = day.ok("undo S1 --yes").out
    assert "Welded on it: R1" in shown
    assert "go-ahead taken back" in day.seam("A1")["flags"]
    assert "No go-ahead yet" in day("go-ahead").out
    assert day.ok("strip list --json").json == []
    assert "TAKEN BACK: S1" in day.ok("trace A1").out
    every_page(day)


def test_only_the_pull_is_taken_back_where_it_was_the_slip(day: Any) -> None:
    """The strip stands, not tried; a pull typed right fills it in again."""
    day.clock.set("10:05")
    day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    day.clock.set("10:06")
    day.ok("strip pull S2 good")
    day.clock.set("10:07")
    assert "pull of S2: good" in day.ok("undo --yes").out
    assert [s["bond"] for s in day.ok("strip list --json").json] == ["good", "not tried"]
    day.ok("strip pull S2 cold")
    assert [s["bond"] for s in day.ok("strip list --json").json] == ["good", "cold"]


@pytest.mark.parametrize(
    ("name", "finding"), [("W1", "F1"), ("P1", "F2")], ids=["a walk", "a peel sample"]
)
def test_what_was_recorded_with_it_goes_and_comes_with_it(
    day: Any, name: str, finding: str
) -> None:
    """Named, a walk takes its finding and a sample its cut, and back again."""
    day.ok("peel A1 20 --parted compound --load 40lbf --width 1in")
    findings = [r["name"] for r in day.query("SELECT name FROM findings ORDER BY tick")]
    assert findings == ["F1", "F2"]
    day.clock.set("10:05")
    day.ok(f"undo {name} --yes")
    assert [r["name"] for r in day.query("SELECT name FROM findings")] == [
        f for f in findings if f != finding
    ]
    day.ok(f"undo {name} --back --yes")
    assert [r["name"] for r in day.query("SELECT name FROM findings ORDER BY tick")] == findings
    assert count(day, "withdrawn") == 0


def test_what_hangs_on_a_finding_is_told_before_it_is_taken_back(day: Any) -> None:
    """Its mend stays."""
    assert "M1" in day.ok("undo F1 --yes").out
    assert count(day, "mends") == 1


def test_back_is_of_ones_own_taking_back_while_it_is_the_one_that_holds(day: Any) -> None:
    """Put back and taken back anew by Ben: it is no longer Ana's to put back as her last."""
    day.ok("undo M1 --yes")
    day.ok('me "Ben Okoro"')
    day.ok("undo M1 --back --yes")
    day.ok("undo M1 --yes")
    day.ok('me "Ana Ruiz"')
    assert "taken back by Ana Ruiz" in day.refused("undo --back --yes")
    day.ok('me "Ben Okoro"')
    day.ok("undo --back --yes")
    assert count(day, "withdrawn") == 0


def test_what_was_added_to_a_strip_goes_with_it(day: Any) -> None:
    """A strip taken back by name: next comes what was before it, never its pull or its correction."""
    day.clock.set("10:05")
    day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    day.clock.set("10:06")
    day.ok("strip pull S2 good")
    day.ok("amend S2 speed 7 --why slip")
    day.ok("undo S2 --yes")
    assert "Taken back: M1." in day.ok("undo --yes").out


def test_a_correction_taken_back_is_no_conflict_with_the_next(day: Any) -> None:
    """The value before it stands again, and can be corrected anew."""
    day.ok("amend S1 speed 6 --why slip")
    day.clock.set("10:05")
    assert "correction of S1" in day.ok("undo --yes").out
    assert day.query("SELECT speed_text FROM strips")[0][0] == "5.5"
    day.ok("amend S1 speed 5 --why slip")
    assert day.query("SELECT speed_text FROM strips")[0][0] == "5"
    assert "conflict" not in day.query("SELECT flags FROM strips")[0][0]
    every_page(day)


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


def test_a_name_taken_back_is_never_given_again(day: Any) -> None:
    """S1 is that strip for ever, so that S2 is the next."""
    day.ok("undo S1 --yes")
    assert (
        day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4 --bubbling none --json").json[
            "name"
        ]
        == "S2"
    )


def test_what_is_out_of_the_crews_hands_is_not_taken_back(day: Any) -> None:
    """A seal is a seal; the thing before it can be named."""
    day.ok("seal")
    assert "never taken back" in day("undo --yes").err
    assert "never taken back" in day("undo L1 --yes").err
    day.ok("undo M1 --yes")


def test_another_persons_last_thing_is_not_taken_back_by_mistake(day: Any) -> None:
    """What counts is who typed it; a name takes anybody's back, and says who did."""
    day.ok('me "Ben Okoro"')
    assert "Ben Okoro" in day("undo --yes").err
    day.ok("undo M1 --yes")
    (row,) = day.query("SELECT seen_by, withdrawn_by FROM withdrawn")
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
def test_what_cannot_be_taken_back_is_said(day: Any, line: str, says: str) -> None:
    """Exit code 2, one line, nothing recorded."""
    before = day.entries()
    done = day(line)
    assert done.code == 2
    assert says in done.err
    assert day.entries() == before


def test_at_a_terminal_it_asks_why_and_enter_takes_the_usual_reason(day: Any) -> None:
    """Shown, asked, recorded; q and Ctrl-C leave all as it is."""
    around = {name: value for name, value in os.environ.items() if name != "COLUMNS"}

    def undo() -> Any:
        words = ["-c", "from weldcal.cli.main import run; run()", "--book", str(day.book), "undo"]
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
    assert count(day, "withdrawn") == 0
    for typed in ("", "wrong finding"):
        child = undo()
        child.expect(r"\[typed\s+by\s+mistake\]|\[typed by")
        child.expect("> $")
        child.sendline(typed)
        child.expect("Taken back")
        child.expect(pexpect.EOF)
    assert [r["why"] for r in day.query("SELECT why FROM withdrawn ORDER BY tick DESC")] == [
        "typed by mistake",
        "wrong finding",
        "wrong finding",
    ]


# -- other devices -----------------------------------------------------------------------------------


def other(weldcal: Any, name: str, *lines: str) -> Path:
    """Another device that merged all there is, and then typed these lines."""
    pack, book = weldcal.book.with_name(f"{name}.pack"), weldcal.book.with_name(f"{name}.sqlite")
    weldcal.ok("pack", str(pack))
    with contextlib.redirect_stdout(io.StringIO()):
        main(
            ["--book", str(book), "job", "new", "other", "--units", "us", "--by", "Zed"],
            clock=weldcal.clock,
        )
        for line in (f"merge {pack}", *lines):
            assert (
                main(
                    ["--book", str(book), "--job", "School roof", *shlex.split(line)],
                    clock=weldcal.clock,
                )
                == 0
            ), line
    return book


def test_taken_back_here_it_is_taken_back_there(day: Any) -> None:
    """Merged in either order, twice: the same rows, and verify holds."""
    book = other(
        day,
        "b",
        "undo S1 --yes --by BO",
        "undo F1 --yes --by BO",
        f"pack {day.book.with_name('back.pack')}",
    )
    for _again in range(2):
        day.ok("merge", str(day.book.with_name("back.pack")))
    assert count(day, "strips") == 0
    assert count(day, "findings") == 0
    every_page(day)
    here = [dict(r) for r in day.query("SELECT * FROM withdrawn ORDER BY id")]
    day.book = book
    assert [dict(r) for r in day.query("SELECT * FROM withdrawn ORDER BY id")] == here


def test_a_pull_typed_elsewhere_on_what_was_taken_back_here_is_kept_and_shown(day: Any) -> None:
    """Nothing recorded is lost to a taking back that its author did not know of."""
    day.clock.set("10:05")
    day.ok("strip record --nozzle 932 --speed 6 --bleed 1/4,1/4,1/4 --bubbling none")
    back = day.book.with_name("back.pack")
    other(
        day, "b", "conditions --ambient 60F --by BO", "strip pull S2 good --by BO", f"pack {back}"
    )
    day.ok("undo S2 --yes")
    day.ok("merge", str(back))
    (row,) = day.query("SELECT added_to FROM withdrawn")
    assert row["added_to"] == 1
    day.ok("undo S2 --back --yes")
    assert day.query("SELECT bond FROM strips WHERE name = 'S2'")[0][0] == "good"
    every_page(day)


def test_put_back_there_while_it_is_taken_back_here_is_a_conflict(day: Any) -> None:
    """Each had reason to; both are shown, and which holds is the same on both devices."""
    back = day.book.with_name("back.pack")
    book = other(day, "b", "undo M1 --yes --by BO", "undo M1 --back --yes --by BO", f"pack {back}")
    day.ok("undo M1 --yes")
    day.ok("merge", str(back))
    sql = "SELECT entered_by, new, conflict FROM amendments ORDER BY tick, entered_by"
    here = [tuple(row) for row in day.query(sql)]
    assert sorted(here) == [
        ("Ana Ruiz", "true", 1),
        ("Ben Okoro", "false", 1),
        ("Ben Okoro", "true", 0),
    ]
    every_page(day)
    day.ok("pack", str(day.book.with_name("forth.pack")))
    day.book = book
    day.ok("merge", str(book.with_name("forth.pack")))
    assert [tuple(row) for row in day.query(sql)] == here


def test_of_two_of_one_name_the_one_meant_is_put_back(day: Any) -> None:
    """Two devices gave S2 and both were taken back: it asks which."""
    back = day.book.with_name("back.pack")
    strip = "strip record --nozzle 932 --speed 6 --bleed 1/4 --bubbling none"
    other(day, "b", f"{strip} --by BO", "undo S2 --yes --by BO", f"pack {back}")
    day.ok(strip)
    day.ok("undo S2 --yes")
    day.ok("merge", str(back))
    refused = day.refused("undo S2 --back --yes")
    theirs = next(
        e["device"] for e in day.entries() if e["kind"] == "strip" and e["who"] == "Ben Okoro"
    )
    assert f"S2.{theirs[:4]}" in refused
    day.ok(f"undo S2.{theirs[:4]} --back --yes")
    assert [tuple(r) for r in day.query("SELECT seen_by FROM strips WHERE name = 'S2'")] == [
        ("Ben Okoro",)
    ]


def test_a_pack_cannot_take_a_seal_back(day: Any) -> None:
    """Whatever program made it: the seal counts, here and when the tables are derived anew."""
    day.ok("seal")
    seal = next(e for e in day.entries() if e["kind"] == "seal")
    amend = {
        "v": 1,
        "of": seal["id"],
        "path": "withdrawn",
        "new": True,
        "why": "never",
        "replaces": seal["id"],
        "seen": {"at": "2026-06-01T10:00:00-06:00", "by": "Zed"},
    }
    says = forge.envelope(
        kind="amend", job=seal["job"], about=seal["about"], tick=999, payload=amend
    )
    pack = forge.pack(day.book.with_name("forged.pack"), [forge.sealed(says)])
    day.ok("merge", str(pack))
    assert (count(day, "seals"), count(day, "withdrawn")) == (1, 0)
    every_page(day)


# -- the dossier -----------------------------------------------------------------------------------


def test_the_dossier_shows_what_was_taken_back_and_why(
    day: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On page 1 and among the corrections, in words; without names where none are wanted."""
    monkeypatch.chdir(tmp_path)
    day.ok('undo W1 --yes --why "wrong seam, says Ben Okoro"')
    day.ok("dossier with --only html")
    page = (tmp_path / "with.html").read_text()
    for text in (
        "Records taken back as mistakes",
        "W1 probe walk 0 ft to 33 ft on A1",
        "wrong seam, says Ben Okoro",
    ):
        assert text in page
    day.ok("dossier without --only html --no-people")
    page = (tmp_path / "without.html").read_text()
    assert "W1 probe walk 0 ft to 33 ft on A1" in page
    assert "Ben Okoro" not in page
    day.ok("export", str(tmp_path / "tables"), "--no-people")
    assert "Ben" not in (tmp_path / "tables" / "withdrawn.csv").read_text().replace(
        "says Ben Okoro", ""
    )
