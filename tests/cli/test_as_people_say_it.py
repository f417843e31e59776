"""Numbers in words at the command line: read exactly, kept as said; a file is read in digits."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

SAID = ["strip", "record", "--nozzle", "932", "--bubbling", "none"]


def readings(book: Any) -> list[tuple[str, str, str]]:
    """The newest strip's readings, as its entry keeps them."""
    strip = [entry for entry in book.entries() if entry["kind"] == "strip"][-1]
    return [(r["text"], r["number"], r["unit"]) for r in strip["payload"]["readings"]]


def test_a_strip_said_in_words_is_kept_as_it_was_said(job: Any) -> None:
    """The text is what was typed; the number beside it is exact."""
    job.ok(*SAID, "--speed", "five and a half", "--bleed", "a quarter, three sixteenths, 5/16")
    assert readings(job) == [
        ("a quarter", "1/4", "in"),
        ("three sixteenths", "3/16", "in"),
        ("5/16", "5/16", "in"),
    ]
    (strip,) = (entry for entry in job.entries() if entry["kind"] == "strip")
    assert strip["payload"]["setting"]["speed"]["number"] == "11/2"
    job.ok("verify")


def test_spanish_words_and_a_decimal_comma(job: Any) -> None:
    """`cinco y medio` and `5,5` are one speed."""
    for speed in ("cinco y medio", "5,5"):
        job.ok(*SAID, "--speed", speed, "--bleed", "un cuarto, tres octavos, 5/16")
        (_first, second, _third) = readings(job)
        assert second == ("tres octavos", "3/8", "in")
        assert job.entries()[-1]["payload"]["setting"]["speed"]["number"] == "11/2"


@pytest.mark.parametrize("bleed", ["6", "6,7,6", "1/4, 6", "5,5"])
def test_a_bare_whole_number_of_inches_is_asked_back(job: Any, bleed: str) -> None:
    """One line with both ways to type it; nothing is recorded."""
    before = job.entries()
    refused = job(*SAID, "--speed", "5.5", "--bleed", bleed)
    number = bleed[-1]
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert f"{number}mm" in refused.err
    assert f"{number}/16" in refused.err
    assert job.entries() == before


@pytest.mark.parametrize("cell", ["a quarter", "half", "tres octavos", "6", "3"])
def test_a_file_is_read_in_digits(job: Any, tmp_path: Path, cell: str) -> None:
    """A word in a cell, or a bare number that says no unit, is refused with its cell."""
    file = tmp_path / "strips.csv"
    file.write_text(f"date,nozzle,speed,bleed-out,bond\n2026-06-01,932,5.5,{cell},good\n")
    before = job.entries()
    refused = job("strip", "load", "--yes", str(file))
    assert refused.code == 2
    assert cell in refused.err
    assert job.entries() == before


def test_a_decimal_comma_in_a_file_of_points_is_still_refused(job: Any, tmp_path: Path) -> None:
    """`5,5` beside `5.5` in one file may be two values: the file decides, not the person's habit."""
    file = tmp_path / "strips.csv"
    file.write_text(
        "date;nozzle;speed;humidity;bleed-out;bond\n2026-06-01;932;5.5;40.5;1/4;good\n"
        "2026-06-02;932;5,5;40.5;1/4;good\n2026-06-03;932;5.5;40.5;6,5;good\n"
    )
    refused = job("strip", "load", "--yes", str(file))
    assert refused.code == 2


@pytest.mark.parametrize(
    ("bubbling", "bond"), [("leve", "good"), ("none", "fría"), ("lots", "poor"), ("nada", "bueno")]
)
def test_a_word_means_the_same_wherever_it_is_typed(
    job: Any, tmp_path: Path, bubbling: str, bond: str
) -> None:
    """As an option, in a line, in a crew's sheet."""
    set_so = f"--bubbling {bubbling} --bond {bond}"
    job.ok(f"strip record --nozzle 932 --speed 5.5 --bleed 1/4 {set_so}")
    job.ok(f"strip 5.5 1/4 {bubbling} {bond} --yes")
    sheet = tmp_path / "strips.csv"
    sheet.write_text(
        "date,machine,nozzle (F),speed (ft/min),bleed (in),bubbling,bond\n"
        f"2026-06-01,blue,932,5.5,1/4,{bubbling},{bond}\n"
    )
    job.ok("strip", "load", "--yes", str(sheet))
    found = [tuple(row) for row in job.query("SELECT bubbling, bond FROM strips")]
    assert len(found) == 3
    assert len(set(found)) == 1


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("11.30am", "11:30"), ("11.30 a.m.", "11:30"), ("2.15pm", "14:15"), ("2 pm", "14:00")],
)
def test_a_time_with_a_point_beside_am_or_pm(job: Any, typed: str, kept: str) -> None:
    """Alone, 7.15 may be any number and is refused as before."""
    job.clock.set("17:00")
    job.ok("conditions", "--ambient", "61F", "--at", typed)
    assert job.entries()[-1]["payload"]["seen"]["at"][11:16] == kept
    assert "7.15" in job.refused("conditions --ambient 61F --at 7.15")
    job.refused("conditions --ambient 61F --at 13.15pm")


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("2026-05-31 7:05", "2026-05-31T07:05:00"),
        ("2026-05-31T7:05", "2026-05-31T07:05:00"),
        ("2026-05-31 2:15 pm", "2026-05-31T14:15:00"),
        ("2026-05-31 11.30am", "2026-05-31T11:30:00"),
        ("2026-05-31 07:05", "2026-05-31T07:05:00"),
        ("2026-02-01 7:05", "2026-02-01T07:05:00-07:00"),  # that day's own offset, winter's
    ],
)
def test_what_is_a_time_alone_is_one_after_a_date(job: Any, typed: str, kept: str) -> None:
    """An hour of one digit, am and pm; what no clock shows is refused there too."""
    job.ok("conditions", "--ambient", "61F", "--at", typed)
    assert job.entries()[-1]["payload"]["seen"]["at"].startswith(kept)
    for wrong in ("2026-05-31 25:05", "2026-05-31 13:05 pm", "2026-02-30 7:05", "2026-05-31 7"):
        assert wrong in job.refused("conditions", "--ambient", "61F", "--at", wrong)


def test_a_stopwatch_says_minutes_and_seconds(job: Any) -> None:
    """2:40 is 160 seconds, kept as it was typed, and the tables follow from it."""
    job.ok("machine measure blue --mark 5.5 --distance 20ft --time 2:40")
    measured = job.entries()[-1]["payload"]["time"]
    assert (measured["text"], measured["number"], measured["unit"]) == ("2:40", "160", "s")
    assert job.query("SELECT time_s FROM measures")[0]["time_s"] == 160
    job.ok("verify")
    job.refused("machine measure blue --mark 5.5 --distance 20ft --time 2:75")


def test_a_load_in_watts_is_a_load(job: Any) -> None:
    """4600 W at 230 V is 20 A; kilowatts too."""
    lines = [
        job.ok(f"power --volts 230 --length 100ft --load {load} --cord 12AWG").out
        for load in ("4600W", "4.6kW", "4.6 kW".replace(" ", ""))
    ]
    assert len(set(lines)) == 1
    job.refused("power --volts 230 --length 100ft --load 4600F")


def test_readings_are_corrected_with_spaces_as_with_commas(job: Any) -> None:
    """As at the question, so after `amend`."""
    job.ok(*SAID, "--speed", "5.5", "--bleed", "1/4,1/4")
    job.ok("amend", "S1", "readings", "1/4 3/16 1/4", "--why", "one left out")
    assert "1/4 3/16 1/4" in job.ok("strip list").out
    job.ok("verify")
