"""Hot work: the permit, what lies beneath, the watch the permit sets, and who stood it."""

from __future__ import annotations

from typing import Any

import pytest

START = (
    'hotwork start --permit 4711 --extinguisher "2-A:20-B:C at the machine" --deck steel '
    '--watch 60min --watch-source "permit 4711"'
)


def note(done: Any) -> dict[str, Any]:
    """The one note about the watch."""
    (found,) = (n for n in done.json["notes"] if n["code"].startswith("watch"))
    return dict(found)


@pytest.mark.parametrize(
    ("left_out", "option"),
    [
        ("--permit 4711 ", "--permit"),
        ('--extinguisher "2-A:20-B:C at the machine" ', "--extinguisher"),
        ("--deck steel ", "--deck"),
        ("--watch 60min ", "--watch"),
        (' --watch-source "permit 4711"', "--watch-source"),
    ],
)
def test_what_a_permit_asks_for_is_needed(job: Any, left_out: str, option: str) -> None:
    """One line that says what to add; nothing recorded. The watch has no default."""
    before = job.entries()
    assert left_out in START
    refused = job(START.replace(left_out, ""))
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.splitlines()) == 1
    assert f"Add {option}," in refused.err
    assert job.entries() == before


def test_hot_work_keeps_what_was_said_of_it(job: Any) -> None:
    """Permit, extinguisher, deck, facers, cavities."""
    job.ok(f'{START} --facers "asphalt-coated glass" --cavities "open parapet, north" --by BO')
    (row,) = job.query("SELECT * FROM hot_work")
    assert (row["name"], row["permit"], row["deck"], row["watch_min"]) == (
        "H1",
        "4711",
        "steel",
        60,
    )
    assert (row["facers"], row["cavities"]) == ("asphalt-coated glass", "open parapet, north")
    assert row["watch_source"] == "permit 4711"
    job.ok("verify")


@pytest.mark.parametrize(("text", "minutes"), [("60min", 60), ("2h", 120), ("90", 90)])
def test_the_watch_is_as_long_as_the_permit_says(job: Any, text: str, minutes: float) -> None:
    """Minutes or hours."""
    job.ok(START.replace("60min", text))
    job.ok("hotwork end")
    assert job.query("SELECT watch_min FROM hot_work")[0][0] == minutes


@pytest.mark.parametrize("text", ["soon", "-5min", "60ft", "900h"])
def test_a_watch_that_cannot_be_is_refused(job: Any, text: str) -> None:
    """Exit code 2, nothing recorded."""
    before = job.entries()
    assert job(START.replace("--watch 60min", f"--watch={text}")).code == 2
    assert job.entries() == before


def test_the_time_left_counts_from_the_end_of_the_work(job: Any) -> None:
    """Ended at 15:00; at 15:20 there are 40 minutes to go, at 16:00 none."""
    job.day(f"09:00 {START}")
    job.clock.set("15:00")
    assert "The watch has 60 min to go (permit 4711)" in job.ok("hotwork end").out
    job.clock.set("15:20")
    found = note(job.ok("hotwork watch --by BO --json"))
    assert (found["code"], found["left_min"]) == ("watch_left", pytest.approx(40))
    job.clock.set("16:00")
    found = note(job.ok("hotwork watch --by BO --json"))
    assert (found["code"], found["stood_min"]) == ("watch_done", pytest.approx(60))
    assert "stood for 60 min" in job.ok("hotwork watch").out


def test_who_stood_the_watch_is_kept(job: Any) -> None:
    """And what was seen."""
    job.day(f'09:00 {START}\n15:00 hotwork end\n16:00 hotwork watch --by BO --found "warm deck"')
    (entry,) = (e for e in job.entries() if e["kind"] == "watch")
    assert entry["payload"]["seen"]["by"] == "Ben Okoro"
    assert entry["payload"]["found"] == "warm deck"
    assert "Ben Okoro" in str([tuple(row) for row in job.query("SELECT * FROM hot_work")])


def test_a_watch_before_the_end_says_it_does_not_count(job: Any) -> None:
    """It begins when the work ends."""
    job.day(f"09:00 {START}")
    job.clock.set("14:00")
    said = job.ok("hotwork watch --by BO").out
    assert len(said.splitlines()) > 1
    assert "end" in said.splitlines()[1]
    job.clock.set("15:00")
    assert note(job.ok("hotwork end --json"))["left_min"] == pytest.approx(60)


def test_a_watch_over_midnight_and_the_clock_change(job: Any) -> None:
    """An hour is an hour: 2026-11-01, 01:30 twice (IANA tz)."""
    from datetime import UTC, datetime, timedelta

    job.clock.moment = datetime(2026, 11, 1, 5, 30, tzinfo=UTC)  # 23:30 the day before
    job.ok(START.replace("60min", "2h"))
    job.clock.moment += timedelta(hours=1)
    job.ok("hotwork end")
    job.clock.moment += timedelta(hours=1, minutes=30)
    assert note(job.ok("hotwork watch --json"))["left_min"] == pytest.approx(30)


def test_wet_primer_is_warned_of(job: Any) -> None:
    """Only where it was said to be wet."""
    assert "WET PRIMER burns" in job.ok(f"{START} --primer-wet yes").out
    assert "WET PRIMER" not in job.ok(f"{START} --primer-wet no").out
    assert "WET PRIMER" not in job.ok(START).out
    assert job(f"{START} --primer-wet perhaps").code == 2


def test_the_latest_hot_work_is_meant_and_another_can_be_named(job: Any) -> None:
    """H1 stays open."""
    job.day(f"09:00 {START}\n10:00 {START}\n11:00 hotwork end")
    ended = {row["name"]: row["ended_utc"] for row in job.query("SELECT * FROM hot_work")}
    assert ended["H1"] is None
    assert ended["H2"] is not None
    job.ok("hotwork end h1")


@pytest.mark.parametrize(
    "line", ["hotwork end", "hotwork watch", "hotwork end H9", "hotwork watch S1"]
)
def test_no_such_hot_work_is_refused_in_one_line(job: Any, line: str) -> None:
    """Exit code 2, nothing recorded, no empty quotes."""
    assert "''" not in job.refused(line)


def test_a_second_end_is_kept_and_the_watch_counts_from_the_last(job: Any) -> None:
    """Somebody took the torch up again."""
    job.day(f"09:00 {START}\n15:00 hotwork end\n15:30 hotwork end")
    job.clock.set("16:00")
    assert note(job.ok("hotwork watch --json"))["left_min"] == pytest.approx(30)


def test_names_of_mischief_are_obeyed_nowhere(job: Any) -> None:
    """In the permit and its source."""
    bad = "[red]\x1b[31m7"
    job.ok(
        "hotwork",
        "start",
        "--permit",
        bad,
        "--extinguisher",
        bad,
        "--deck",
        bad,
        "--watch",
        "60min",
        "--watch-source",
        bad,
    )
    out = job.ok("hotwork end").out
    assert "\x1b" not in out
    assert "[red]" in out


def waiting(job: Any) -> str:
    """What the evening page says is open, in one line."""
    page = job.ok("evening").out
    return " ".join(page.split("\nOPEN NOW\n")[1].split("\n\n")[0].split())


def test_the_evening_tells_of_welding_with_no_hot_work_recorded(job: Any) -> None:
    """Nothing on a day without welding; nothing once it is recorded with its whole watch."""
    assert "hot work" not in waiting(job)
    job.day("08:00 seam start A1 --nozzle 932 --speed 5.5\n08:07 seam finish A1 --to 33")
    job.clock.set("17:00")
    assert "- hot work: none recorded, and laps were welded" in waiting(job)
    assert job.ok("evening --json").json["no_hot_work"] is True
    job.day(f"07:30 {START}\n15:00 hotwork end\n15:30 hotwork watch")
    job.clock.set("17:00")
    assert "- hot work with no end, or no full fire watch, recorded: H1 " in waiting(job)
    told = job.ok("evening --json").json
    assert (told["no_hot_work"], told["hot_work_unwatched"]) == (False, ["H1"])
    job.ok("hotwork watch H1")
    assert "hot work" not in waiting(job)
