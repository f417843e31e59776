"""Answers not recorded yet: whose they are, and that they are on disk."""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from weldcal.book import Book
from weldcal.records.draft import DayAnswer, Draft

DAY = "2026-06-01"
AIR = DayAnswer("ambient", "61", f"{DAY}T07:00:00-06:00")


def open_book(job: Any, name: str | None = None) -> Book:
    """The book as another process would open it."""
    return Book(job.book, job=name, clock=job.clock)


def draft(**says: Any) -> Draft:
    """Ana's, half way through the conditions."""
    return Draft(
        **{
            "date": DAY,
            "person": "Ana Ruiz",
            "role": "operator",
            "step": "conditions",
            "answers": (AIR,),
            **says,
        }
    )


def test_a_draft_is_of_one_person_one_role_and_one_job(job: Any) -> None:
    """Another's day, or the same person's on another roof, leaves it alone."""
    job.ok("job new other --units si --zone UTC")
    job.ok('job use "School roof"')
    mine = draft()
    open_book(job).drafts.keep_draft(mine)
    open_book(job).drafts.keep_draft(draft(role="inspector", step="probe", answers=()))
    open_book(job).drafts.keep_draft(draft(person="Ben Okoro", answers=()))
    open_book(job, "other").drafts.keep_draft(draft(answers=()))
    assert open_book(job).drafts.draft("Ana Ruiz", "operator") == mine


def test_a_second_window_keeps_its_own(job: Any) -> None:
    """Neither overwrites the other; after a dead battery both are there, in the same order."""
    first, second = open_book(job), open_book(job)
    assert first.drafts.hold_draft("Ana Ruiz", "operator")
    assert not second.drafts.hold_draft("Ana Ruiz", "operator")
    assert open_book(job).drafts.hold_draft("Ana Ruiz", "inspector")
    first.drafts.keep_draft(draft())
    second.drafts.keep_draft(draft(step="strip", answers=()))
    del first, second
    first, second = open_book(job), open_book(job)
    assert first.drafts.hold_draft("Ana Ruiz", "operator")
    second.drafts.hold_draft("Ana Ruiz", "operator")
    assert first.drafts.draft("Ana Ruiz", "operator") == draft()
    assert second.drafts.draft("Ana Ruiz", "operator") == draft(step="strip", answers=())


def test_a_draft_is_synced_before_it_takes_the_place_of_the_last(
    job: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Power lost at any moment leaves the last draft or the new one, whole; then its name is synced."""
    done: list[str] = []
    sync, move = os.fsync, Path.replace

    def fsync(file: int) -> None:
        done.append(str(Path(f"/proc/self/fd/{file}").readlink()).rpartition(".")[2])
        sync(file)

    def replace(path: Path, target: Path) -> Path:
        assert path.stat().st_size > 0
        done.append("moved")
        return move(path, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(Path, "replace", replace)
    open_book(job).drafts.keep_draft(draft())
    folder = str(job.book.parent).rpartition(".")[2]
    assert done == ["part", "moved", folder]


@pytest.mark.parametrize("window", [1, 2])
def test_cautions_read_in_the_day_are_not_shown_again_that_day(job: Any, window: int) -> None:
    """Confirmed this morning, in whichever window; tomorrow they come again."""
    job.clock.set("07:00")
    others = [open_book(job) for _n in range(window)]
    for book in others:
        book.drafts.hold_draft("Ana Ruiz", "operator")
    others[-1].drafts.keep_draft(draft(step=None, answers=(), done=("cautions",)))
    strip = "strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none --by AR"
    assert "Never type" not in job.ok(strip).out
    job.clock.moment += timedelta(days=1)
    assert "Never type" in job.ok(strip).out
