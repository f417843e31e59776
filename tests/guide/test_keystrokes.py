"""The table of keystrokes is what is really typed, and does what it says."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

Sit = Callable[..., Any]
PAGE = (Path(__file__).parents[2] / "docs" / "keystrokes.md").read_text()
ROWS = {
    found["task"]: found
    for found in re.finditer(
        r"^\| (?P<task>.+?) \| `(?P<typed>.+?)` \| (?P<count>\d+) \| (?P<most>\d+) \|$",
        PAGE,
        re.MULTILINE,
    )
}
STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"


def walk_ready(job: Any) -> None:
    """A lap welded, and Ben at the device."""
    job.day(
        f"07:00 {STRIP} --bond good\n07:30 seam start A1 --nozzle 932 --speed 5.5\n07:37 seam finish A1 --to 33"
    )
    job.clock.set("08:10")  # cold by now
    job.ok('me "Ben Okoro"')


def strip_ready(job: Any) -> None:
    """Yesterday's strip; this morning's conditions, 40 min old."""
    job.day(f"15:00 {STRIP}\n+\n07:00 conditions --ambient 61F --sheet-temp 74F")
    job.clock.moment += timedelta(minutes=40)


def pull_ready(job: Any) -> None:
    """A strip, cold by now."""
    job.day(f"07:00 conditions --ambient 61F --sheet-temp 74F\n07:40 {STRIP}\n08:10 me 'Ana Ruiz'")


def lap_ready(job: Any) -> None:
    """A go-ahead."""
    pull_ready(job)
    job.ok("strip pull S1 good")


def welding(job: Any) -> None:
    """A lap in work."""
    lap_ready(job)
    job.ok("seam start A1 --nozzle 932 --speed 5.5")


def walked(job: Any) -> None:
    (walk,) = job.query("SELECT * FROM walks")
    assert (walk["start_m"], walk["end_m"], walk["seen_by"]) == (
        0,
        pytest.approx(10.0584),
        "Ben Okoro",
    )
    assert walk["started_utc"] <= walk["ended_utc"]
    assert job.seam("A1")["state"] == "probed with no open finding"


def stripped(job: Any) -> None:
    *_before, strip = [e["payload"] for e in job.entries() if e["kind"] == "strip"]
    assert [reading["text"] for reading in strip["readings"]] == ["1/4", "3/16", "5/16", "1/4"]
    carried = {c["name"]: c["read_at"] for c in strip["conditions"]["carried"]}
    assert carried == dict.fromkeys(("ambient", "sheet_temp"), "2026-06-02T07:00:00-06:00")
    assert len(job.query("SELECT * FROM advice")) == 2


def pulled(job: Any) -> None:
    assert job.query("SELECT bond FROM strips")[0]["bond"] == "good"


def begun(job: Any) -> None:
    (run,) = job.query("SELECT * FROM runs")
    assert run["go_ahead"]
    assert run["end_m"] is None


def finished(job: Any) -> None:
    assert job.query("SELECT width_min_mm FROM bleeds")[0]["width_min_mm"] == 6.35
    assert job.seam("A1")["state"] == "unprobed"


TASKS = dict(
    zip(
        ROWS,
        (
            (walk_ready, walked),
            (strip_ready, stripped),
            (pull_ready, pulled),
            (lap_ready, begun),
            (welding, finished),
        ),
        strict=True,
    )
)


@pytest.mark.parametrize("task", ROWS)
def test_a_task_takes_the_keystrokes_the_table_says(job: Any, terminal: Sit, task: str) -> None:
    """Typed at a real terminal, counted from what was sent, with what was recorded looked at."""
    ready, recorded = TASKS[task]
    ready(job)
    t = terminal(40)
    *typed, nothing = ROWS[task]["typed"].split("⏎")
    assert nothing == ""
    t.type(*typed)
    t.asked("ready$")
    recorded(job)
    assert sum(map(len, t.keys)) == int(ROWS[task]["count"]) <= int(ROWS[task]["most"])
    assert t.too_wide() == []


def test_the_table_holds_the_two_aims() -> None:
    """A clean walk in 15, a strip of four readings in 45."""
    assert any(r["most"] == "15" and "33 ft" in task for task, r in ROWS.items())
    assert any(r["most"] == "45" and "four readings" in task for task, r in ROWS.items())
