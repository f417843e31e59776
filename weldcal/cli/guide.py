"""The guided day at a terminal: one question at a time, every answer kept, the plain command shown.

Invariant: an answer is on disk before the next question is asked, and a step is
recorded by the command that somebody could have typed, called with its values. Nothing
heavy is imported before the first question: typer and the whole book wait until it is
answered.
"""

from __future__ import annotations

import contextlib
import shlex
import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from weldcal import settings
from weldcal.book import Book
from weldcal.cli.questions import Later, PersonLeft, only, say, typed
from weldcal.cli.replies import GoBack
from weldcal.errors import NoJob, WeldcalError
from weldcal.flow import going, opening
from weldcal.flow.question import Call, Calls
from weldcal.records.day import Day
from weldcal.records.draft import ROLES, Draft
from weldcal.records.times import stamp
from weldcal.reports import asking, lines, show
from weldcal.words import _

Clock = Callable[[], datetime]
_STOPPED = 130  # the exit code where Ctrl-C, or the end of what is typed, broke it off


class DayBook(Struct, frozen=True):
    """Where the day is: the book's file, the job where one was named, and a clock of its own.

    Attributes:
        by: who is typing, once that is known: another window may make somebody else the device's person.
    """

    path: Path
    job: str | None = None
    clock: Clock | None = None
    by: str | None = None

    def options(self) -> dict[str, Any]:
        """What a book is opened with."""
        return {"job": self.job, "by": self.by, **({"clock": self.clock} if self.clock else {})}


def open_day(place: DayBook, role: str | None = None) -> int:
    """Open the day of whoever is there; the exit code: 0 where they left, 130 where it was broken off."""
    there = sys.stdin.isatty() and sys.stdout.isatty()
    code = 0
    try:
        return _guided(place, role) if there else _say_next(place, role)
    except PersonLeft:
        pass
    except (EOFError, KeyboardInterrupt):
        code = _STOPPED
        print()
    say(_("Left. What was answered is kept: type weldcal to go on."))
    return code


# -- who is there ---------------------------------------------------------------------------


def _guided(place: DayBook, role: str | None) -> int:
    say(asking.keys())
    opened = _opening(place)
    day = opened or _set_up(place)
    asked = opened is not None or day.typist is None
    while True:
        person = _somebody(day) if asked else day.typist or ""
        try:
            role_known = opening.role_of(day, person)
            now = role or role_known or only(opening.what(day, person), day, first=False)
            own_place = replace(place, by=settings.person() or person)
            book = book_at(own_place)
            stay_on_job(book)
            draft = take_up(book, person, now)
            break
        except GoBack:
            asked = True
    if day.typist != person:
        run(book, (Call("me", (person,)),), shown=True)
    return _through(book, draft)


def _somebody(day: Day) -> str:
    """Who is working; somebody not listed is asked about, for it may be a slip."""
    while True:
        person = opening.called(day, only(opening.who(day), day))
        if opening.known(day, person):
            return person
        with contextlib.suppress(GoBack):
            if only(opening.new_person(person), day, first=False) == "yes":
                return person


def _opening(place: DayBook) -> Day | None:
    """What the first question needs; None where there is no job yet."""

    book = Book(place.path, **place.options())
    try:
        return book.beginning.day()
    except NoJob:
        return None
    finally:
        book.close()


def book_at(place: DayBook) -> Book:
    """The book there, for whoever is typing."""

    return Book(place.path, **place.options())


def stay_on_job(book: Book) -> None:
    """Keep a window on its job: what is asked of one roof is never recorded on another, which
    another window takes up, or a pack brings."""
    book.reader.job_name = book.job.id


def take_up(book: Book, person: str, role: str) -> Draft:
    """Where this person was: of today as it stands, of another day if they want it."""
    if not book.drafts.hold_draft(person, role):
        say(_("This day is open in another window too: each window keeps its own answers."))
    day = book.days.view(role)
    fresh = Draft(date=day.date, person=person, role=role)
    kept = book.drafts.draft(person, role)
    if kept is None or not going.known(kept):
        return fresh
    kept, recorded = going.taken_up(kept, book.drafts.recorded_since(kept))
    if recorded:
        say(_("The step begun last was recorded before the program stopped."))
    if kept.date == day.date:
        return kept
    if not any(given.asked for given in kept.answers):
        return fresh
    tell(day, kept)
    again = only(opening.take_up(kept.date), day, first=False) == "yes"
    return replace(kept, date=day.date, done=()) if again else fresh


# -- through the day ------------------------------------------------------------------------


def _through(book: Book, draft: Draft) -> int:
    day = _day(book, draft)
    for text in [*_of_the_clock(book), *asking.heading(day, draft)]:
        say(text)
    if any(given.asked for given in draft.answers):
        say(_("Taken up where it was left:"))
        tell(day, draft)
    while True:
        day = _day(book, draft)
        if draft.step is None and going.suggested(day, draft) is None:
            say(asking.nothing_left(draft.role or "", going.put_off(day, draft), day))
        draft = one_step(book, day, going.opened(day, draft))


def _of_the_clock(book: Book) -> list[str]:
    """What is odd about this device's clock, before anything is asked by it."""
    return lines.notes(book.beginning.clock_notes(), book.job.units)


def _day(book: Book, draft: Draft) -> Day:
    """The day as it stands now, for the draft's role."""
    return book.days.view(draft.role or ROLES[0])


def one_step(book: Book, day: Day, draft: Draft) -> Draft:
    """Ask through one step and do it; the draft after it."""
    step = None
    while draft.step is not None and draft.step != step:
        step = draft.step
        if not draft.answers:
            run(book, going.shown_first(day, draft))
        draft = _answered(book, day, draft)
    if draft.step is None:
        return draft
    done = _done(book, draft)
    book.drafts.keep_draft(done)
    return done


def _answered(book: Book, day: Day, draft: Draft) -> Draft:
    """Ask until the step is complete, put off, or another one."""
    step = draft.step
    while draft.step == step and (question := going.question(day, draft)) is not None:
        wanted = going.wanted(day, draft)
        if wanted is not None:
            day = replace(day, advised=book.advising.advised_for(wanted))
            question = going.question(day, draft) or question
        try:
            text = typed(question, day.units)
            draft = going.answer(day, draft, text, stamp(book.beginning.clock()))
        except GoBack:
            if draft.step == going.LIST:
                say(_("Nothing to go back to. What is recorded is taken back with: weldcal undo"))
            draft = going.back(draft)
        except Later:
            draft = going.later(day, draft)
        except WeldcalError as error:
            say(str(error))
            continue
        book.drafts.keep_draft(draft)
    return draft


def _done(book: Book, draft: Draft) -> Draft:
    """Do a complete step by its plain commands; the draft after it, or to be mended."""
    day = _day(book, draft)
    try:
        calls = going.calls(day, draft)[len(going.shown_first(day, draft)) :]
    except WeldcalError as error:  # answers that are fine one by one, and cannot be together
        say(str(error))
        return going.back(draft)
    draft = going.begun(day, draft)
    book.drafts.keep_draft(draft)
    code = run(book, calls, shown=True)
    if code == _STOPPED:
        raise PersonLeft
    if code:
        return going.back(draft)
    if len(calls) > 1:  # the last page may have pushed the first answer off the screen
        for text in asking.standing(_day(book, draft), draft.role or ""):
            say(text)
    noted = going.recorded(draft, book.drafts.recorded_since(draft))
    return going.finished(draft, noted=noted)


def _to_type(book: Book, words: Sequence[str]) -> str:
    """A plain command as it is typed in any window: with the job, where it is not the book's own."""
    job = book.reader.job_to_type()
    return show.safe(shlex.join(["weldcal", *(("--job", job) if job else ()), *words]))


def run(book: Book, calls: Calls, *, shown: bool = False) -> int:
    """Run commands one after another, until one fails; the code of the first."""
    from weldcal.cli.main import called

    first = 0
    for n, call in enumerate(calls):
        if shown:
            say(_("Same as: {command}", command=_to_type(book, call.line())))
        code = called(call, book)
        first = first if n else code
        if code:
            break
    return first


def _set_up(place: DayBook) -> Day:
    """No job yet: set one up, or leave."""
    book = book_at(place)
    day = _nowhere(place)
    say(_("No job yet: a few questions set one up. To look around first: weldcal demo."))
    draft = book.drafts.draft(None, None) or Draft(date=day.date)
    draft = replace(draft, step=opening.SET_UP.code, begun=None)
    while True:
        draft = _answered(book, day, draft)
        book.drafts.keep_draft(draft)
        code = run(book, going.calls(day, draft), shown=True)
        if code == 0:
            break
        draft = going.back(draft)
    book.drafts.drop_draft(draft)
    found = _opening(place)
    assert found is not None
    return found


def _nowhere(place: DayBook) -> Day:
    """A day without a job, on this machine's clock."""
    from datetime import UTC

    now = place.clock() if place.clock else datetime.now(UTC)
    return Day(now=stamp(now.astimezone()), date=now.date().isoformat(), zone=settings.local_zone())


def tell(day: Day, draft: Draft) -> None:
    """What was answered so far."""
    for question, given in going.answers_so_far(day, draft):
        say(f"- {asking.label(question, day.units)}: {show.safe(given.text)}")


# -- nobody there to be asked ------------------------------------------------------------------


def _say_next(place: DayBook, role: str | None) -> int:
    """Say what comes next and the command to type; ask nothing."""
    opened = _opening(place)
    if opened is None:
        say(str(NoJob()))
        return 0
    role = role or opening.role_of(opened, opened.typist or "") or "operator"
    book = book_at(place)
    day = book.days.view(role)
    kept = book.drafts.draft(opened.typist, role)
    now = kept if kept is not None and kept.date == day.date else Draft(date=day.date)
    draft = replace(now, person=opened.typist or _("not named"), role=role)
    for text in [*_of_the_clock(book), *asking.heading(day, draft)]:
        print(lines.on_screen(text))
    words = going.sketch(day, replace(draft, answers=()))
    if not words:
        print(lines.on_screen(asking.nothing_left(role, going.put_off(day, draft), day)))
    for line in words[:1]:
        print(
            _(
                "Next: {step}. Type: {command}",
                step=_(going.suggested(day, draft) or ""),
                command=_to_type(book, line),
            )
        )
    book.close()
    return 0
