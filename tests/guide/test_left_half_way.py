"""A day left half way at a real terminal: a dead battery, another day, another person, another window."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest

from tests.guide.recorded import kinds

Sit = Callable[..., Any]


STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"


@pytest.mark.parametrize("taken", ["yes", ""])
def test_a_draft_of_another_day_is_offered_not_assumed(job: Any, terminal: Sit, taken: str) -> None:
    """Yes takes it up, and what was seen yesterday is recorded as of yesterday; Enter begins anew."""
    job.day(f"07:00 conditions --ambient 61F\n07:10 {STRIP}")
    job.clock.set("17:00")
    t = terminal()
    t.type("weldcal", "", "good", "q")
    t.asked("ready$")
    job.clock.set("07:00", days=1)
    t = terminal()
    t.type("weldcal", "")
    t.asked("Something of 2026-06-01 was not finished. Take it up?")
    t.type(taken)
    if taken:
        t.type("", "")
    t.asked("Air")
    t.type("q")
    t.asked("ready$")
    (row,) = job.query("SELECT bond, pulled_utc FROM strips")
    assert (row["bond"], (row["pulled_utc"] or "")[:14]) == (
        ("good", "2026-06-01T23:") if taken else ("not tried", "")
    )


def _broken_off(job: Any, t: Any) -> None:
    """A pull answered, and the battery dead once its command had begun: as it stands on disk."""
    job.day(f"07:00 conditions --ambient 61F\n07:10 {STRIP}")
    t.type("weldcal", "", "good", "", "q")
    t.asked("ready$")
    (path,) = job.book.parent.glob("*.draft-*")
    kept = json.loads(path.read_text())
    last = {"code": "confirm_pull", "text": "yes", "at": kept["answers"][-1]["at"]}
    begun = max(e["tick"] for e in job.entries())
    path.write_text(json.dumps({**kept, "answers": [*kept["answers"], last], "begun": begun}))


def test_killed_after_recording_it_is_not_recorded_again(job: Any, terminal: Sit) -> None:
    """The step's entry is on disk and the draft still says it began: it is there, so it is done."""
    t = terminal()
    _broken_off(job, t)
    job.ok("strip pull S1 good")
    t.type("weldcal", "")
    t.asked()
    assert "was recorded before the program stopped" in " ".join(t.seen.split())
    t.type("q")
    t.asked("ready$")
    assert kinds(job).count("pull") == 1


@pytest.mark.parametrize(
    "meanwhile",
    [
        "",
        "conditions --ambient 63F",
        'strip record --nozzle 932 --speed 6 --bleed 1/4 --bubbling none --by "Ben Okoro"',
    ],
)
def test_killed_before_recording_it_is_asked_again(job: Any, terminal: Sit, meanwhile: str) -> None:
    """The step began and was not recorded, whatever else was: its last answer is asked for again."""
    t = terminal()
    _broken_off(job, t)
    if meanwhile:
        job.ok(meanwhile)
    t.type("weldcal", "")
    t.asked("S1: pull good. Enter records it")
    t.type("", "q")
    t.asked("ready$")
    assert kinds(job).count("pull") == 1


def test_a_draft_that_cannot_be_read_is_as_good_as_none(job: Any, terminal: Sit) -> None:
    """Half a file, or somebody's note: the day begins anew."""
    t = terminal()
    t.type("weldcal", "", "61", "q")
    t.asked("ready$")
    (path,) = job.book.parent.glob("*.draft-*")
    path.write_text(path.read_text()[:-9])
    t.type("weldcal", "")
    t.asked("Air")
    t.type("q")
    t.asked("ready$")
    assert "Traceback" not in t.seen


def test_all_that_was_answered_is_told_again(job: Any, terminal: Sit) -> None:
    """Left in the middle of a strip; later the air is asked for first, and the answers still stand."""
    job.day("07:00 conditions --ambient 61F\n07:01 dial")
    t = terminal()
    t.type("weldcal", "", "", "900", "6", "q")
    t.asked("ready$")
    job.clock.set("07:40")
    t = terminal()
    t.type("weldcal", "")
    shown = t.asked("Still so?")
    assert "Nozzle, as set: 900" in shown
    assert "Speed on the dial: 6" in shown
    t.type("q")
    t.asked("ready$")


def test_drafts_are_no_entries(job: Any, terminal: Sit) -> None:
    """Answers given and left: the book is as it was."""
    before = sqlite3.connect(job.book).execute("SELECT count(*) FROM entries").fetchone()
    t = terminal()
    t.type("weldcal", "", "61", "74", "q")
    t.asked("ready$")
    assert sqlite3.connect(job.book).execute("SELECT count(*) FROM entries").fetchone() == before
    assert job.ok("verify").code == 0


def test_another_role_leaves_what_was_begun_alone(job: Any, terminal: Sit) -> None:
    """Half of the conditions typed, a look as inspector between: the answers are there again."""
    t = terminal()
    t.type("weldcal", "", "61", "q", "weldcal day --for inspector", "", "q", "weldcal", "")
    shown = t.asked("Sheet's surface")
    assert "Air: 61" in shown
    t.type("q")
    t.asked("ready$")


def test_two_people_at_two_windows_each_type_for_themselves(job: Any, terminal: Sit) -> None:
    """Ben sits down at a second window while Ana is asked: what she goes on to type is hers."""
    ana = terminal()
    ana.type("weldcal", "ana", "61", "74", "", "")
    ana.asked("Enter records the conditions")
    ben = terminal()
    ben.type("weldcal", "bo")
    ben.asked("What do you want to do?")
    ana.type("")
    ana.asked("Enter: read, and seen to")
    (entry,) = [e for e in job.entries() if e["kind"] == "conditions"]
    assert (entry["who"], entry["payload"]["seen"]["by"]) == ("Ana Ruiz", "Ana Ruiz")
    for one in (ana, ben):
        one.type("q")
        one.asked("ready$")


def test_one_person_at_two_windows_answers_each_by_itself(job: Any, terminal: Sit) -> None:
    """The second begins anew and says so; both taken up where they were left, the battery dead between."""
    first, second = terminal(), terminal()
    first.type("weldcal", "ana", "61", "74")
    first.asked("Wind")
    second.type("weldcal", "ana")
    second.asked("Air")
    assert "open in another window too" in " ".join(second.seen.split())
    second.type("55")
    second.kill()
    first.kill()
    first = terminal()
    first.type("weldcal", "")
    assert "Air: 61" in first.asked("Wind")
    second = terminal()
    second.type("weldcal", "")
    assert "Air: 55" in second.asked("Sheet's surface")
    for one in (first, second):
        one.type("q")
        one.asked("ready$")
