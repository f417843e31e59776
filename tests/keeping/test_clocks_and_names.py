"""Clocks that cannot be, a dead battery, a book behind a link, names that are not what they look like."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.conftest import STRIP


@pytest.mark.parametrize("year", [1902, 2250])
def test_a_clock_that_cannot_be_is_said_in_one_sentence(job: Any, year: int) -> None:
    """Set the clock; nothing is recorded under a time that cannot be. Reading goes on."""
    job.clock.moment = job.clock.moment.replace(year=year)
    assert "Set the clock" in job.refused("conditions --ambient 60F")
    job.ok("roof")
    job.ok("verify")


def test_a_dead_battery_does_not_stop_recording(job: Any) -> None:
    """The first of January 1970 in UTC is 1969 on the roof: kept, and the clock told."""
    from datetime import UTC, datetime

    job.ok("conditions --ambient 59F")
    job.clock.moment = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)
    assert "clock" in job.ok("conditions --ambient 60F").out
    assert "clock went back" in " ".join(job.ok("verify").out.split())


def test_a_book_behind_a_link_stays_one_device(job: Any, tmp_path: Path) -> None:
    """The link and the file, in turn."""
    link, real = tmp_path / "link.sqlite", job.book
    link.symlink_to(real)
    for n in range(4):
        job.book = link if n % 2 else real
        job.ok(f"conditions --ambient {60 + n}F")
    made = [e["device"] for e in job.entries() if e["kind"] == "conditions"]
    assert len(set(made)) == 1


def test_names_that_are_not_what_they_look_like_are_flagged(job: Any) -> None:
    """A Cyrillic A, a sign nobody sees: kept, told when typed, flagged on the roof; plain ones are not."""
    flag = "name with invisible or look-alike signs"
    for name in ("\u0410a7", "A\u200b8", "A9"):
        job.ok("seam", "add", name, "--length", "33ft")
    flags = {s["name"]: s["flags"] for s in job.ok("roof --json").json["seams"]}
    assert [flag in flags[name] for name in ("\u0410a7", "A\u200b8", "A9")] == [True, True, False]
    done = job.ok("finding", "A1", "wrinkle", "3-4", "--by", "B\u0435n Okoro")
    assert "look alike" in " ".join(done.out.split())


def test_a_walk_entered_after_the_cover_up_does_not_count(welded_whole: Any) -> None:
    """For a time before it: flagged, and the lap stays unprobed."""
    book = welded_whole
    book.clock.set("12:00")
    book.ok("cover A --by AR")
    book.clock.set("13:00")
    book.ok("probe A1 0-33 --by BO --at 11:00")
    seam = book.seam("A1")
    assert seam["probed_m"] == 0
    assert "entered after it was covered" in seam["flags"]


def test_a_time_that_clocks_were_set_forward_over_is_refused(job: Any) -> None:
    """2:30 on 2026-03-08 was on no clock in Denver; times beside it are read."""
    job.clock.moment = job.clock.moment.replace(month=3, day=8, hour=8)
    assert job.refused("conditions --ambient 40F --at 2:30") == (
        "weldcal: time: '2:30' was not on 2026-03-08: clocks went from 2:00 to 3:00. "
        "Type 3:00 or later, like 3:30, or a time before 2:00."
    )
    job.refused('conditions --ambient 40F --at "2026-03-08 2:59 am"')
    job.refused("conditions --ambient 40F --at 2026-03-08T02:00")
    job.ok("conditions --ambient 40F --at 1:59")
    job.ok("conditions --ambient 40F --at 3:00")
    job.ok("conditions --ambient 40F --at 2026-03-08T02:30:00-07:00")  # 3:30 by the new time
    assert [entry["payload"]["seen"]["at"] for entry in job.entries()[-3:]] == [
        "2026-03-08T01:59:00-07:00",
        "2026-03-08T03:00:00-06:00",
        "2026-03-08T03:30:00-06:00",
    ]
    job.ok(f"{STRIP} --at 3:10")
    assert "2:00 to 3:00" in job.refused('amend S1 at_time 2:30 --why "the other clock"')


def test_a_row_of_a_sheet_at_a_skipped_time_is_refused_with_its_reason(
    job: Any, tmp_path: Path
) -> None:
    """As any value of it that cannot be."""
    job.clock.moment = job.clock.moment.replace(month=3, day=8, hour=8)
    sheet = tmp_path / "strips.csv"
    sheet.write_text(
        "date,time,nozzle (F),speed (ft/min),bleed (in)\n2026-03-08,2:30,932,5.5,1/4\n"
    )
    done = job("strip", "load", str(sheet), "--yes")
    assert done.code == 2
    assert "clocks went from 2:00 to 3:00" in " ".join((done.out + done.err).split())


def test_a_time_beside_a_recorded_one_is_read_on_the_jobs_clock(job: Any) -> None:
    """The day before clocks are set forward has its own offset from UTC."""
    job.clock.moment = job.clock.moment.replace(month=3, day=8, hour=8)
    job.ok(STRIP)
    job.ok('amend S1 at_time "yesterday 16:00" --why "of the day before"')
    assert job.entries()[-1]["payload"]["new"] == "2026-03-07T16:00:00-07:00"
