"""The guided day at a terminal: one question at a time, every answer kept, the plain command shown.

Invariant: an answer is on disk before the next question is asked, and a step is
recorded by the plain command itself. Nothing heavy is imported before the first
question: typer and the whole book wait until it is answered.
"""

from __future__ import annotations

import contextlib
import shlex
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from weldcal import settings
from weldcal.cli import line
from weldcal.errors import NoJob, WeldcalError
from weldcal.flow import going, opening
from weldcal.flow.question import BACK, LEAVE, NAMED, Question, command, read_answer
from weldcal.records.day import ROLES, Day, Draft
from weldcal.records.times import stamp
from weldcal.reports import asking, lines, show
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book import Book

Clock = Callable[[], datetime]
# What can be typed at any question, in English and Spanish.
_LATER = {"later", "l", "luego"}
_STOPPED = 130  # the exit code where Ctrl-C, or the end of what is typed, broke it off


class Place(Struct, frozen=True):
    """Where the day is: the book's file, the job where one was named, and a clock of its own.

    Attributes:
        by: who is typing, once that is known: another window may make somebody else the device's person.
    """

    path: Path
    job: str | None = None
    clock: Clock | None = None
    by: str | None = None

    def front(self) -> list[str]:
        """What a plain command needs to be about the same book and job."""
        job = ["--job", self.job] if self.job else []
        return ["--book", str(self.path), *job]

    def options(self) -> dict[str, Any]:
        """What a book is opened with."""
        return {"job": self.job, "by": self.by, **({"clock": self.clock} if self.clock else {})}


class Left(Exception):
    """Somebody leaves; what was answered is kept."""


class GoBack(Exception):
    """One back."""


class Later(Exception):
    """This step another time."""


def open_day(place: Place, role: str | None = None) -> int:
    """Open the day of whoever is there; the exit code: 0 where they left, 130 where it was broken off."""
    there = sys.stdin.isatty() and sys.stdout.isatty()
    code = 0
    try:
        return _guided(place, role) if there else _told(place, role)
    except Left:
        pass
    except (EOFError, KeyboardInterrupt):
        code = _STOPPED
        print()
    _say(_("Left. What was answered is kept: type weldcal to go on."))
    return code


# -- who is there ---------------------------------------------------------------------------


def _guided(place: Place, role: str | None) -> int:
    _say(asking.keys())
    known = _opening(place)
    day = known or _set_up(place)
    asked = known is not None or day.typist is None
    while True:
        person = _somebody(day) if asked else day.typist or ""
        try:
            found = opening.role_of(day, person)
            now = role or found or _only(opening.what(day, person), day, first=False)
            here = replace(place, by=settings.person() or person)
            book = _book(here)
            draft = take_up(book, person, now)
            break
        except GoBack:
            asked = True
    if day.typist != person:
        run(place, [command("me", person)], shown=True)
    return _through(here, book, draft)


def _somebody(day: Day) -> str:
    """Who is working; somebody not listed is asked about, for it may be a slip."""
    while True:
        person = opening.called(day, _only(opening.who(day), day))
        if opening.known(day, person):
            return person
        with contextlib.suppress(GoBack):
            if _only(opening.new_person(person), day, first=False) == "yes":
                return person


def _opening(place: Place) -> Day | None:
    """What the first question needs; None where there is no job yet."""
    from weldcal.book import Book

    book = Book(place.path, **place.options())
    try:
        return book.drafts.opening()
    except NoJob:
        return None
    finally:
        book.close()


def _only(question: Question, day: Day, *, first: bool = True) -> str:
    """Ask a question that is of no step, until it is answered.

    Raises:
        GoBack: one back, where another question came before: not `first`.
    """
    while True:
        try:
            _code, text = read_answer(question, _typed(question, day.units), day.units)
            if text:
                return text
        except (GoBack, Later):
            if not first:
                raise GoBack from None
            _say(_("This is the first question. q leaves."))
        except WeldcalError as error:
            _say(str(error))


def _book(place: Place) -> Book:
    from weldcal.book import Book

    return Book(place.path, **place.options())


def take_up(book: Book, person: str, role: str) -> Draft:
    """Where this person was: of today as it stands, of another day if they want it."""
    if not book.drafts.hold_draft(person, role):
        _say(_("This day is open in another window too: each window keeps its own answers."))
    day = book.days.view(role)
    fresh = Draft(date=day.date, person=person, role=role)
    kept = book.drafts.draft(person, role)
    if kept is None or not going.known(kept):
        return fresh
    kept, recorded = going.taken_up(kept, book.drafts.recorded_since(kept))
    if recorded:
        _say(_("The step begun last was recorded before the program stopped."))
    if kept.date == day.date:
        return kept
    if not any(given.asked for given in kept.answers):
        return fresh
    asked = Question(
        "take_up", "choice", choices=("yes", "no"), default="no", values={"date": kept.date}
    )
    tell(day, kept)
    again = _only(asked, day, first=False) == "yes"
    return replace(kept, date=day.date, done=()) if again else fresh


# -- through the day ------------------------------------------------------------------------


def _through(place: Place, book: Book, draft: Draft) -> int:
    day = _day(book, draft)
    for one in [*_of_the_clock(book), *asking.heading(day, draft)]:
        _say(one)
    if any(given.asked for given in draft.answers):
        _say(_("Taken up where it was left:"))
        tell(day, draft)
    while True:
        day = _day(book, draft)
        if draft.step is None and going.suggested(day, draft) is None:
            _say(asking.nothing_left(draft.role or "", going.put_off(day, draft), day))
        draft = one_step(place, book, day, going.opened(day, draft))


def _of_the_clock(book: Book) -> list[str]:
    """What is odd about this device's clock, before anything is asked by it."""
    return lines.notes(book.drafts.clock_notes(), book.job.units)


def _day(book: Book, draft: Draft) -> Day:
    """The day as it stands now, for the draft's role."""
    return book.days.view(draft.role or ROLES[0])


def one_step(place: Place, book: Book, day: Day, draft: Draft) -> Draft:
    """Ask through one step and do it; the draft after it."""
    step = None
    while draft.step is not None and draft.step != step:
        step = draft.step
        if step == "cautions" and not draft.answers:
            run(place, going.words(day, draft))
        draft = _answered(book, day, draft)
    if draft.step is None:
        return draft
    done = _done(place, book, draft)
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
            typed = _typed(question, day.units)
            draft = going.answer(day, draft, typed, stamp(book.drafts.clock()))
        except GoBack:
            if draft.step == going.LIST:
                _say(_("Nothing to go back to. What is recorded is taken back with: weldcal undo"))
            draft = going.back(draft)
        except Later:
            draft = going.later(day, draft)
        except WeldcalError as error:
            _say(str(error))
            continue
        book.drafts.keep_draft(draft)
    return draft


def _done(place: Place, book: Book, draft: Draft) -> Draft:
    """Do a complete step by its plain commands; the draft after it, or to be mended."""
    day = _day(book, draft)
    try:
        words = going.words(day, draft)
    except WeldcalError as error:  # answers that are fine one by one, and cannot be together
        _say(str(error))
        return going.back(draft)
    if draft.step == "cautions":
        return going.finished(draft)
    draft = going.begun(day, draft)
    book.drafts.keep_draft(draft)
    code = run(place, words, shown=True)
    if code == _STOPPED:
        raise Left
    if code:
        return going.back(draft)
    if len(words) > 1:  # the last page may have pushed the first answer off the screen
        for one in asking.standing(_day(book, draft), draft.role or ""):
            _say(one)
    noted = going.recorded(draft, book.drafts.recorded_since(draft))
    return going.finished(draft, noted=noted)


def run(place: Place, words: list[list[str]], *, shown: bool = False) -> int:
    """Run plain commands one after another; the code of the first."""
    from weldcal.cli.main import main

    first = 0
    for n, typed in enumerate(words):
        if shown:
            _say(_("Same as: {command}", command=show.safe(shlex.join(["weldcal", *typed]))))
        code = main([*place.front(), *typed], clock=place.clock, by=place.by)
        if n == 0:
            first = code
        if code:
            break
    return first


def _set_up(place: Place) -> Day:
    """No job yet: set one up, or leave."""
    book = _book(place)
    day = _nowhere(place)
    _say(_("No job yet: a few questions set one up. To look around first: weldcal demo."))
    draft = book.drafts.draft(None, None) or Draft(date=day.date)
    draft = replace(draft, step=opening.SET_UP.code, begun=None)
    while True:
        draft = _answered(book, day, draft)
        book.drafts.keep_draft(draft)
        code = run(place, going.words(day, draft), shown=True)
        if code == 0:
            break
        draft = going.back(draft)
    book.drafts.drop_draft(draft)
    found = _opening(place)
    assert found is not None
    return found


def _nowhere(place: Place) -> Day:
    """A day without a job, on this machine's clock."""
    from datetime import UTC

    now = place.clock() if place.clock else datetime.now(UTC)
    return Day(now=stamp(now.astimezone()), date=now.date().isoformat(), zone=settings.local_zone())


# -- asking and saying ------------------------------------------------------------------------


def _typed(question: Question, units: str) -> str:
    """What is typed at a question, once it is an answer.

    Raises:
        Left, GoBack, Later: it was a word for that.
    """
    names = {choice.casefold() for choice in question.choices if question.kind in NAMED}
    while True:
        typed = line.typed(_shown(question, units), _offered(question)).strip()
        word = typed.casefold()
        if word == "?":
            for one in asking.explained(question, units):
                _say(one)
        elif word in names:
            return typed
        elif (
            word in BACK
            or (word == "a" and settings.language() == "es")
            or (word in ("no", "n") and question.kind in ("confirm", "agree"))
        ):
            raise GoBack
        elif word in LEAVE:
            raise Left
        elif word in _LATER:
            raise Later
        else:
            return typed


def _offered(question: Question) -> list[str]:
    """What Tab completes: names as they are, words as they are shown."""
    if question.kind in NAMED:
        return list(question.choices)
    return [_(choice) for choice in question.choices]


def _shown(question: Question, units: str) -> str:
    """The question where it fits with room for the answer; else it is said first."""
    room = 1 if question.kind in ("confirm", "shown") else 8
    return lines.prompt(asking.prompt(question, units) + ": ", room)


def tell(day: Day, draft: Draft) -> None:
    """What was answered so far."""
    for question, given in going.told(day, draft):
        _say(f"- {asking.label(question, day.units)}: {show.safe(given.text)}")


def _say(text: str) -> None:
    print(lines.wrapped(text))


# -- nobody there to be asked ------------------------------------------------------------------


def _told(place: Place, role: str | None) -> int:
    """Say what comes next and the command to type; ask nothing."""
    opened = _opening(place)
    if opened is None:
        _say(str(NoJob()))
        return 0
    role = role or opening.role_of(opened, opened.typist or "") or "operator"
    book = _book(place)
    day = book.days.view(role)
    kept = book.drafts.draft(opened.typist, role)
    now = kept if kept is not None and kept.date == day.date else Draft(date=day.date)
    draft = replace(now, person=opened.typist or _("not named"), role=role)
    for one in [*_of_the_clock(book), *asking.heading(day, draft)]:
        print(lines.on_screen(one))
    words = going.sketch(day, replace(draft, answers=()))
    if not words:
        print(lines.on_screen(asking.nothing_left(role, going.put_off(day, draft), day)))
    for typed in words[:1]:
        print(
            _(
                "Next: {step}. Type: {command}",
                step=_(going.suggested(day, draft) or ""),
                command=show.safe(shlex.join(["weldcal", *typed])),
            )
        )
    book.close()
    return 0
