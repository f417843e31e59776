"""What is odd but can be kept is kept, told when recorded, and flagged where it is shown."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"
STRIP = f"strip record {SET} --bleed 1/4,3/16,5/16 --bubbling none"
WELDED = f"07:30 seam start A1 {SET}\n07:37 seam finish A1 --to 33"

# (what, the log before, the odd command, told at once, seam, flagged in roof or trace)
ODD = [
    (
        "a seam nobody listed, welded",
        "",
        f"seam start Q7 {SET}",
        "not on this job's list",
        "Q7",
        "not on the seam list",
    ),
    (
        "a seam nobody listed, probed",
        "",
        "probe Q7 0-33 --by BO",
        "not on this job's list",
        "Q7",
        "not on the seam list",
    ),
    (
        "a finding on a seam nobody listed",
        "",
        "finding Q7 scorched 3 --by BO",
        "not on this job's list",
        "Q7",
        "not on the seam list",
    ),
    (
        "a run past the seam's end",
        f"07:30 seam start A1 {SET}",
        "seam finish A1 --to 40",
        "past the end",
        "A1",
        "past its end",
    ),
    (
        "a walk past the seam's end",
        WELDED,
        "probe A1 0-40 --by BO",
        "past the end",
        "A1",
        "past its end",
    ),
    (
        "a finding past the seam's end",
        WELDED,
        "finding A1 void 39-40 --by BO",
        "past the end",
        "A1",
        "past its end",
    ),
    (
        "a second start",
        f"07:30 seam start A1 {SET}",
        f"seam start A1 {SET} --from 12",
        "begun and not finished",
        "A1",
        "second start",
    ),
    (
        "a run of the future",
        "",
        f"seam start A1 {SET} --at 23:30",
        "ahead of this device's clock",
        "A1",
        "ahead of the clock",
    ),
    (
        "a walk of yesterday",
        WELDED,
        "probe A1 0-33 --by BO --at 'yesterday 16:00'",
        "late",
        "A1",
        "late",
    ),
    (
        "a walk entered hours late",
        f"{WELDED}\n14:00 verify",
        "probe A1 0-33 --by BO --at 10:00",
        "late",
        "A1",
        "late",
    ),
    (
        "an operator nobody listed",
        "",
        f"seam start A1 {SET} --by 'Zed Moss'",
        "not on this job's list",
        "A1",
        "person not listed",
    ),
    (
        "a machine nobody listed",
        "",
        f"seam start A1 {SET} --machine red",
        "not on this job's list",
        "A1",
        "machine not listed",
    ),
    (
        "a sheet nobody listed",
        "",
        f"seam start A1 {SET} --sheet cap",
        "not on this job's list",
        "A1",
        "sheet not listed",
    ),
    (
        "a walk by the one who welded",
        WELDED,
        "probe A1 0-33",
        "welded this seam and probed it",
        "A1",
        "probed by its operator",
    ),
    (
        "a finish without a start",
        "",
        "seam finish A2 --to 33",
        "",
        "A2",
        "finished without a start",
    ),
]


@pytest.mark.parametrize("case", ODD, ids=[case[0] for case in ODD])
def test_what_is_odd_is_recorded_told_and_flagged(go_ahead: Any, case: Any) -> None:
    """Exit code 0, an entry, a word now, and the flag on the roof or in the trace."""
    _what, log, odd, told, seam, flag = case
    go_ahead.day(log)
    before = len(go_ahead.entries())
    said = " ".join(go_ahead.ok(odd).out.split())
    assert told in said
    assert len(go_ahead.entries()) == before + 1
    shown = go_ahead.ok("roof").out + go_ahead.ok(f"trace {seam}").out
    assert flag in " ".join(shown.split())
    go_ahead.ok("verify")


def test_a_run_typed_after_later_ones_is_kept(go_ahead: Any) -> None:
    """Typed late, or by a clock that was set back: it stands where it was begun."""
    go_ahead.day(WELDED)
    go_ahead.clock.set("07:50")
    go_ahead.ok(f"seam start A2 {SET} --at 07:20")
    go_ahead.ok("seam finish A2 --to 33 --at 07:28")
    go_ahead.clock.set("07:25")
    go_ahead.ok(f"seam start A3 {SET}")
    rows = go_ahead.query("SELECT seam, go_ahead FROM runs ORDER BY seen_utc")
    assert [row["seam"] for row in rows] == ["A2", "A3", "A1"]
    assert all(row["go_ahead"] for row in rows)


@pytest.mark.parametrize(
    ("options", "told", "flag"),
    [
        ("--at 23:30", "ahead of this device's clock", "ahead of the clock"),
        ("--at 'yesterday 07:00'", "late", "late"),
        ("--at 2026-05-29", "late", "late"),
        ("--machine red", "not on this job's list", None),
        ("--by 'Zed Moss'", "not on this job's list", None),
    ],
)
def test_an_odd_strip_is_kept_and_told(job: Any, options: str, told: str, flag: str | None) -> None:
    """The flag stands in the list of strips."""
    job.clock.set("09:00")
    assert told in " ".join(job.ok(f"{STRIP} {options}").out.split())
    (strip,) = job.ok("strip list --json").json
    assert flag is None or flag in strip["flags"]
    assert flag is None or flag in job.ok("strip list").out


def test_a_clock_that_goes_back_loses_nothing(go_ahead: Any) -> None:
    """The order is that of the record; all is kept."""
    go_ahead.clock.set("06:00")
    go_ahead.ok(STRIP)
    go_ahead.clock.set("08:00")
    go_ahead.ok(STRIP)
    assert [s["name"] for s in go_ahead.query("SELECT name FROM strips ORDER BY tick")] == [
        "S1",
        "S2",
        "S3",
    ]
    go_ahead.ok("verify")


def test_an_hour_that_comes_twice_keeps_its_offset(weldcal: Any) -> None:
    """Autumn: 01:30 in Denver is -06:00 and an hour later -07:00 (2026-11-01, IANA tz)."""
    weldcal.ok('job new J --zone America/Denver --sheet "b: x" --machine "m: ft/min"')
    for hour in (7, 8):
        weldcal.clock.moment = datetime(2026, 11, 1, hour, 30, tzinfo=UTC)
        weldcal.ok(f"{STRIP} --by X")
    rows = weldcal.query("SELECT seen_local FROM strips ORDER BY tick")
    assert [row[0] for row in rows] == ["2026-11-01T01:30:00-06:00", "2026-11-01T01:30:00-07:00"]


def test_an_entry_made_by_another_names_both(job: Any) -> None:
    """Ben saw it, Ana typed it."""
    job.ok(f"{STRIP} --by BO")
    (row,) = job.query("SELECT seen_by, entered_by FROM strips")
    assert tuple(row) == ("Ben Okoro", "Ana Ruiz")


@pytest.mark.parametrize(
    ("option", "typed", "called"),
    [
        ("ambient", "50F", "ambient temperature"),
        ("sheet-temp", "68F", "sheet surface temperature"),
        ("under-temp", "59F", "temperature of the lower sheet"),
        ("humidity", "60", "relative humidity"),
        ("wind", "10mph", "wind"),
        ("gust", "12mph", "gusts"),
        ("roll-temp", "41F", "roll temperature"),
        ("line-voltage", "228", "line voltage"),
    ],
)
def test_a_reading_that_is_carried_over_is_named(
    job: Any, option: str, typed: str, called: str
) -> None:
    """On the strip made ten minutes after it, whatever was read."""
    job.clock.set("07:00")
    job.ok(f"conditions --{option} {typed}")
    job.clock.set("07:10")
    said = job.ok("strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none").out
    assert f"{called} carried over, read 10 min before." in said
    assert job.refused(f"conditions --{option} 9000").startswith(f"weldcal: {called}: ")
