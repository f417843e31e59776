"""`weldcal` alone into a pipe: what comes next and the command to type; nothing is asked."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from typing import Any

import pytest

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"


def next_line(shown: str) -> str:
    """What it says comes next."""
    return next(line for line in shown.splitlines() if line.startswith("Next: "))


def test_without_a_job_it_says_how_to_begin(weldcal: Any) -> None:
    """And leaves nothing behind."""
    done = weldcal.ok("")
    assert "weldcal job new" in done.out
    assert not weldcal.book.exists()
    assert list(weldcal.book.parent.glob("*draft*")) == []


def test_the_operators_day_goes_on_step_by_step(job: Any) -> None:
    """Each command typed, the next is said."""
    job.ok("limit set cool_least 0 --source 'sheet maker' --by 'Ana Ruiz'")
    said = []
    for line in (
        "conditions --ambient 61F",
        f"{STRIP}",
        "strip pull S1 good",
        "seam start A1 --nozzle 932 --speed 5.5",
        "seam finish A1 --to 20",
        "seam finish A9 --to 1",
    ):
        said.append(next_line(job.ok("").out))
        job.ok(line)
    said.append(next_line(job.ok("").out))
    assert said == [
        "Next: conditions. Type: weldcal conditions --ambient AMBIENT --sheet-temp SHEET_TEMP --wind WIND --humidity HUMIDITY",
        "Next: cautions. Type: weldcal cautions",
        "Next: pull. Type: weldcal strip pull S1 'good|cold'",
        "Next: start. Type: weldcal seam start A1 --nozzle 932F --speed 5.5ft/min",
        "Next: lap. Type: weldcal bleed A1 AT READINGS",
        "Next: start. Type: weldcal seam start A1 --from 20 --nozzle 932F --speed 5.5ft/min",
        "Next: start. Type: weldcal seam start A1 --from 20 --nozzle 932F --speed 5.5ft/min",
    ]


def test_the_inspector_is_told_the_oldest_stretch_then_the_mend(go_ahead: Any) -> None:
    """Unprobed first by age; what was mended is to be probed again; what is open to be mended."""
    go_ahead.day(
        "07:30 seam start A2 --nozzle 932 --speed 5.5\n07:37 seam finish A2 --to 33\n"
        "07:40 seam start A1 --nozzle 932 --speed 5.5\n07:47 seam finish A1 --to 33"
    )
    assert (
        "Still warm, to be probed from then on: A1 07:57." in go_ahead.ok("day --for inspector").out
    )
    assert "probe A2 0-33" in next_line(go_ahead.ok("day --for inspector").out)
    go_ahead.ok("probe A2 0-33 --void 14.5+3in --by BO")
    shown = go_ahead.ok("day --for inspector").out
    assert "weldcal mend F1" in next_line(shown)  # A1 is still warm
    assert "Findings open: F1 A2." in shown
    go_ahead.clock.set("08:00")  # cold
    go_ahead.ok("probe A1 0-33 --by BO")
    assert "weldcal mend F1 --method patch" in next_line(go_ahead.ok("day --for inspector").out)
    go_ahead.ok("mend F1 --method patch")
    assert "Nothing else is cold enough to be probed." in go_ahead.ok("day --for inspector").out
    go_ahead.clock.set("08:10")
    assert "probe A2 14-15.25" in next_line(go_ahead.ok("day --for inspector").out)
    go_ahead.ok("probe A2 14-15.25 --by BO")
    assert "Nothing is left to probe." in go_ahead.ok("day --for inspector").out


def test_the_foremans_evening_goes_on(go_ahead: Any) -> None:
    """Warnings first; the seal and to whom."""
    go_ahead.ok("seam start A1 --nozzle 932 --speed 9")
    shown = go_ahead.ok("day --for foreman").out
    assert "weldcal settle R1 WHAT_DONE" in next_line(shown)
    assert "Still being welded: A1." in shown
    go_ahead.ok("settle R1 done")
    assert "weldcal evening" in next_line(go_ahead.ok("day --for foreman").out)


def test_a_go_ahead_that_no_longer_stands_says_why(go_ahead: Any) -> None:
    """The power was lost: a strip again comes next."""
    go_ahead.day(
        "07:30 seam start A1 --nozzle 932 --speed 5.5\n07:37 seam finish A1 --to 20 --power-lost"
    )
    shown = go_ahead.ok("day").out
    assert "Go-ahead S1 no longer stands: the power was lost." in shown
    assert (
        next_line(shown)
        == "Next: conditions. Type: weldcal conditions --ambient AMBIENT --sheet-temp SHEET_TEMP --wind WIND --humidity HUMIDITY"
    )


def test_another_role_than_there_are_is_refused(job: Any) -> None:
    """One line, what is possible."""
    done = job("day --for painter")
    assert done.code == 2
    assert "operator, inspector, foreman" in done.err


@pytest.mark.parametrize("line", ["", "day --for inspector", "day --for foreman"])
def test_nothing_heavy_is_loaded(
    go_ahead: Any, fresh: Callable[..., subprocess.CompletedProcess[str]], line: str
) -> None:
    """Neither numpy and its kin nor rich, whoever it is for."""
    heavy = ("numpy", "scipy", "pandas", "sklearn", "rich", "pydantic", "sqlite_utils")
    tell = f"import atexit, sys; atexit.register(lambda: print('LOADED', *(m for m in {heavy!r} if m in sys.modules), file=sys.stderr))"
    done = fresh(line, before=tell)
    assert (done.returncode, done.stderr) == (0, "LOADED\n")


def test_a_reading_over_its_limit_is_to_be_read_again(go_ahead: Any) -> None:
    """Three hours after the sheet was read: conditions come next, with capitals for each."""
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    go_ahead.clock.set("10:30")
    assert "Next: conditions. Type: weldcal conditions --ambient AMBIENT" in go_ahead.ok("day").out


def test_findings_that_are_not_listed_are_counted(welded_whole: Any) -> None:
    """Eight open: six by name, and that there are two more."""
    for n in range(8):
        welded_whole.ok(f"finding A1 cold {3 * n}-{3 * n + 1} --by BO")
    shown = welded_whole.ok("day --for inspector").out
    assert "Findings open: F1 A1, F2 A1, F3 A1, F4 A1, F5 A1, F6 A1 and 2 more." in shown
