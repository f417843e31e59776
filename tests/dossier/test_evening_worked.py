"""An evening worked out by hand: every length, count and name of the day."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def day(job: Any) -> Any:
    """Three seams of 33 ft: one by hand, one with four voids of which one is mended, one half probed."""
    job.ok("seam add Q1-Q4 --length 33ft")
    job.day("""
        07:00 conditions --ambient 61F --sheet-temp 74F --wind 5mph
        07:10 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none
        08:00 seam start Q1 --nozzle 932 --speed 5.5
        08:07 seam finish Q1 --to 33
        08:20 seam start Q2 --by-hand
        08:40 seam finish Q2 --to 33
        09:00 seam start Q3 --nozzle 932 --speed 5.5
        09:05 seam finish Q3 --to 20
        10:00 probe Q1 0-33 --void 3+2in --void 6+2in --void 9+2in --void 12+2in --by BO
        10:10 probe Q2 0-11 --by BO
        10:20 mend F1 --method patch --by AR
        10:25 seam start Q4 --nozzle 932 --speed 5.5
        10:30 finding Q2 wrinkle 3-4 --by BO
        10:35 undo F5 --why 'wrong lap' --yes
    """)
    job.clock.set("17:00")
    return job


def part(page: str, head: str) -> list[str]:
    """The lines under a heading, each whole."""
    block = page.split(f"\n{head}\n")[1].split("\n\n")[0]
    return " ".join(block.split()).removeprefix("- ").split(" - ")


def test_the_days_work_by_hand(day: Any) -> None:
    """33 + 33 + 20 ft welded, 33 + 11 ft probed; what was taken back is told as such."""
    page = day.ok("evening").out
    assert part(page, "TODAY, MONDAY, JUNE 1, 2026") == [
        "welded: 86 ft in 4 runs, 1 by hand (Q1, Q2, Q3, Q4)",
        "probed: 44 ft in 2 walks",
        "found: F1 void Q1, F2 void Q1, F3 void Q1, F4 void Q1",
        "mended: M1 Q1",
        "taken back, counting for nothing: F5 Q2",
        "strip S1, 5.5 ft/min: the cold pull was not tried yet",
    ]
    assert part(page, "GO-AHEADS") == ["no strip met the limits today"]


def test_what_is_open_by_hand(day: Any) -> None:
    """86 - 44 ft are 42, 49 %; four voids of 2 in are two thirds of a foot."""
    assert part(day.ok("evening").out, "OPEN NOW")[:5] == [
        "findings open: Q1 F2 F3 F4",
        "mended, not probed again: Q1 F1",
        "welded, not probed: 42 ft (49 % of 86 ft)",
        "warnings not answered: R1 Q1, R2 Q2, R3 Q3, R4 Q4",
        "lap in doubt after a failed check: 0.6667 ft",
    ]


def test_what_comes_first_by_name(day: Any) -> None:
    """Each seam and finding under what is to be done about it, and under nothing else."""
    told = day.ok("evening --json").json["first_tomorrow"]
    assert told == {
        "mend": ["F2", "F3", "F4"],
        "probe_again": ["F1"],
        "answer": ["R1", "R2", "R3", "R4"],
        "open_up": [],
        "clear": [],
        "pull": ["S1"],
        "finish": ["Q3", "Q4"],
        "probe": ["Q2", "Q3"],
    }
    first = part(day.ok("evening").out, "FIRST TOMORROW")
    assert [line.split(":")[0] for line in first] == [
        "mend what is open",
        "probe mends again",
        "answer warnings",
        "pull the strips not pulled",
        "finish seams in work",
        "probe what is cold",
        "run a test strip before the first lap",
    ]


def test_more_than_so_many_are_counted(day: Any) -> None:
    """Of more names than a line shows, how many more there are: none is dropped unsaid."""
    day.clock.set("17:30")
    day.ok("seam add T1-T16 --length 10ft")
    for n in range(1, 17):
        day.ok(f"seam start T{n} --nozzle 932 --speed 5.5")
        day.ok(f"seam finish T{n} --to 10")
    day.clock.set("18:00")
    (first,) = (line for line in part(day.ok("evening").out, "FIRST TOMORROW") if "cold" in line)
    names, _and, more = first.removeprefix("probe what is cold: ").partition(" and ")
    shown = names.split(", ")
    assert shown[:2] == ["Q2", "Q3"]
    assert len(shown) + int(more.removesuffix(" more")) == 18


def test_a_sample_that_parted_at_the_lap_is_told_of_the_day(day: Any, tmp_path: Path) -> None:
    """The worst of a day, on the evening's page and on the sheet that is signed; a good one is not."""
    day.ok("peel Q1 20 --parted compound --load 40lbf --width 1in --by BO")
    told = "samples that parted at the lap, cold there: "
    assert told not in day.ok("evening").out
    day.ok('peel Q1 25 --parted "at the lap" --load 8lbf --width 1in --by BO')
    assert f"- {told}P2 Q1\n" in day.ok("evening").out
    sheet = tmp_path / "sheet.html"
    day.ok("form", "daily", "--html", str(sheet), "--pdf", str(tmp_path / "sheet.pdf"))
    assert f"{told}P2 Q1" in sheet.read_text(encoding="utf-8")
