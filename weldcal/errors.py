"""Refusals: the whole tree, each leaf with its exit code and its sentence.

    WeldcalError
    ├── Unreadable              what was typed cannot be a value
    │   ├── NotANumber
    │   ├── WrongUnit
    │   ├── OutOfRange
    │   ├── BareReading         millimetres, or sixteenths?
    │   ├── BareFraction        a fraction on a job in millimetres
    │   ├── NotAChoice
    │   ├── NotAnswered         (the guided day) Enter where something must be seen and typed
    │   ├── NotATime
    │   ├── (flow.earlier) StillToCome
    │   ├── NotADay
    │   ├── NotWhole
    │   ├── (intake) NotADate, EitherDate, BecameDate, EitherReading, Ditto, TooLong: cells of files
    │   ├── BadDial
    │   ├── BadLayout
    │   ├── NotAStretch         a from-to that cannot be read
    │   ├── WordUnknown         a word of a line
    │   └── TextNotPlain
    ├── Mistyped                the command line cannot be understood
    │   ├── NeedsCommand
    │   ├── LoneOption
    │   └── (cli.usage) NoCommand, NoOption, ReadAsOption, NeedsValue, MissingWord, TooMany
    ├── Missing                 something needed was not given
    │   ├── Unconfirmed         nobody was there to say that it is right
    │   ├── (cli.undo) NotDone
    │   ├── NoPerson
    │   └── NoJob
    ├── Unheard                 a name the book does not hold
    │   └── Ambiguous
    ├── NoneYet                 nothing of the kind is recorded yet
    ├── Taken                   a name already in use
    ├── Misplaced               asked of a thing that cannot have it
    │   └── Withdrawn           a record that was taken back
    ├── LoadRefused             rows of somebody's file
    ├── FileTrouble
    │   ├── NotWritten          nothing can be written where it was asked for
    │   └── ScreenNotKept
    ├── (cli) BrokenOff         Ctrl-C in the middle of long work
    └── BookTrouble
        ├── NotABook
        ├── BookUnwritable
        ├── BookSilent          the disk does not answer: recorded or not?
        ├── ClockOff            this device's clock says a time that cannot be
        ├── NewerBook
        └── BadEntry

Invariant: an exception here is a refusal: nothing was recorded, and its sentence
says what was wrong, what is allowed and what to type instead. What can be kept
is kept and flagged instead; that is never an exception.
"""

from __future__ import annotations

import errno
from typing import ClassVar

from weldcal.words import _, mark


class WeldcalError(Exception):
    """A refusal. `values` fill the sentence."""

    exit_code: ClassVar[int] = 2
    sentence: ClassVar[str] = ""

    def __init__(self, **values: object) -> None:
        super().__init__(values)
        self.values = values

    def __str__(self) -> str:
        return _(self.sentence, **self.values)


class Unreadable(WeldcalError):
    """What was typed cannot be a value of the kind asked for."""


class NotANumber(Unreadable):
    """Text where a number belongs."""

    sentence = mark("{name}: {text!r} is not a number. Type it like {example}.")


class WrongUnit(Unreadable):
    """A unit that does not measure this kind of thing."""

    sentence = mark("{name}: {unit!r} is not one of its units ({allowed}). Type it like {example}.")


class OutOfRange(Unreadable):
    """A value that cannot be."""

    sentence = mark("{name}: {text} cannot be; it lies between {low} and {high}. Type it again.")


class BareReading(Unreadable):
    """A bare whole number that is no bleed-out in inches: millimetres, or sixteenths?"""

    sentence = mark(
        "{name}: {text!r} says no unit. Type {number}mm for millimetres, or {number}/16 for sixteenths of an inch."
    )


class BareFraction(Unreadable):
    """A bare fraction where readings are in millimetres: no rule is read to a part of one."""

    sentence = mark(
        "{name}: {text!r} says no unit. Type {inches} for inches, or millimetres like 6mm."
    )


class NotAChoice(Unreadable):
    """A word that is not one of those possible."""

    sentence = mark("{name}: {text!r} is not one of: {allowed}. Type one of them.")


class NotAnswered(Unreadable):
    """Nothing typed where nobody can know for the person, or something where Enter is meant."""

    sentence = mark("Type {allowed}; ? explains.")


class NotATime(Unreadable):
    """A time that cannot be read."""

    sentence = mark("{name}: {text!r} is not a time. Type it like 07:15 or 2026-06-01 07:15.")


class SkippedTime(Unreadable):
    """A time that no clock showed: clocks were set forward over it."""

    sentence = mark(
        "{name}: {text!r} was not on {day}: clocks went from {gone} to {come}. "
        "Type {come} or later, like {then}, or a time before {gone}."
    )


class NotADay(Unreadable):
    """A day that cannot be read."""

    sentence = mark("{name}: {text!r} is not a day. Type it like 2026-06-01.")


class NotWhole(Unreadable):
    """A fraction where only a whole number can be."""

    sentence = mark("{name}: {text!r} is not a whole number. Type it like 3.")


class BadDial(Unreadable):
    """A machine whose dial or nozzle range cannot be."""

    sentence = mark("machine {name}: {why}. Type it like {example}.")


class BadLayout(Unreadable):
    """A roof that cannot be laid so."""

    sentence = mark("This roof cannot be laid so: {why}. Type the area, roll and laps again.")


class NotAStretch(Unreadable):
    """A from-to that cannot be read."""

    sentence = mark("{name}: {text!r} is not a stretch. Type it like {example}.")


class EndUnknown(Unreadable):
    """The end of a seam whose length nobody listed."""

    sentence = mark(
        "The end of {seam} is not known here: no length is listed for it. Type the distance, like {example}."
    )


class WordUnknown(Unreadable):
    """A word of a typed line that means nothing there."""

    sentence = mark("{text!r} is not understood here. Type: {allowed}.")


class TextNotPlain(Unreadable):
    """A name that is empty or over-long."""

    sentence = mark("{name}: type a name of 1 to {most} characters.")


class Mistyped(WeldcalError):
    """A command line that cannot be understood. `path` is the command as typed so far."""


class NeedsCommand(Mistyped):
    """A first word that needs a second one."""

    sentence = mark("A command is missing. See them all: {path} --help.")


class LoneOption(Mistyped):
    """A value given to an option that takes none."""

    sentence = mark("{option} takes no value. Type {option} alone.")


class Missing(WeldcalError):
    """Something needed was not given."""

    sentence = mark("{name} is missing. Add {option}, like {example}.")


class Unconfirmed(Missing):
    """Shown to be confirmed, and nobody was there to do so."""

    sentence = mark(
        "Nobody is here to confirm it, so nothing was recorded. If it is right, add --yes."
    )


class Unlikely(Missing):
    """A value that is likely a slip, and nobody was there to be asked back."""

    sentence = mark("{question} Nothing was recorded. If it is right, add --as-typed.")


class NoPerson(Missing):
    """Nobody said who saw it."""

    sentence = mark('Who did this? Add --by "NAME", or type once: weldcal me "NAME".')


class NoJob(Missing):
    """No job to record on."""

    sentence = mark('No job yet. Type: weldcal job new "NAME" --units us, or try: weldcal demo.')


class Unheard(WeldcalError):
    """A name the book does not hold."""

    sentence = mark("No {what} {text!r} in this job. Known: {known}.")


class NoneYet(WeldcalError):
    """Nothing of the kind is recorded yet."""

    sentence = mark("No {what} yet. {then}")


class Ambiguous(Unheard):
    """A short name two devices gave to two things."""

    sentence = mark("{text!r} is more than one {what} (two devices used it). Type one of: {known}.")


class SeveralPeople(Ambiguous):
    """Initials of more than one person."""

    sentence = mark("{text!r} are the initials of more than one person. Type one of: {known}.")


class NameTaken(WeldcalError):
    """A name already in use."""

    sentence = mark("There is a {what} {text!r} already. Choose another name.")


class Misplaced(WeldcalError):
    """Asked of a thing that cannot have it."""

    sentence = mark("{text}: {why}.")


class Withdrawn(Misplaced):
    """Asked of a record that was taken back."""

    sentence = mark(
        "{text} was taken back by {by} ({why}) and counts for nothing. To put it back: weldcal undo {text} --back"
    )


class LoadRefused(WeldcalError):
    """Rows of a file that could not be read; nothing was recorded."""

    sentence = mark(
        "{file}: {bad} of {rows} rows cannot be read; nothing was recorded. "
        "Mend them, or add --keep-good to record the other {good}.{first}"
    )


class FileTrouble(WeldcalError):
    """A file that cannot be opened, read or written."""

    sentence = mark("{file}: {why}.")


class NotWritten(FileTrouble):
    """A file that cannot be written where it was asked for."""

    sentence = mark("{file} cannot be written: {why}. Type another path.")


class ScreenNotKept(FileTrouble):
    """This device cannot keep how its screen is written."""

    sentence = mark(
        "This cannot be kept here ({file}: {why}). For one command: weldcal --screen {screen}; for all: WELDCAL_SCREEN={screen}."
    )


class BookTrouble(WeldcalError):
    """The book cannot be used."""


class NotABook(BookTrouble):
    """A file that is not a weldcal book."""

    sentence = mark("{file} is not a weldcal book ({why}). Give another path with --book PATH.")


class BookUnwritable(BookTrouble):
    """Nothing can be written: read-only, full, gone or busy."""

    sentence = mark(
        "{file} cannot be written ({why}). Nothing was recorded. "
        "Free the disk or give another path with --book PATH, then type it again."
    )


class TableMissing(BookTrouble):
    """A derived table or a column of one is not there: somebody changed the file with another tool."""

    sentence = mark(
        "A table of {file} was changed behind the record ({why}). "
        "Make the tables anew from the entries: weldcal verify --rebuild"
    )


class BookSilent(BookTrouble):
    """The disk did not answer in the middle of a recording."""

    sentence = mark(
        "{file}: the disk does not answer; it may or may not have been recorded. "
        "Look before typing it again, and free the disk if it is full."
    )


class ClockOff(BookTrouble):
    """This device's clock says a time that no record can have."""

    sentence = mark(
        "This device's clock says {at}, which cannot be. Nothing was recorded. "
        "Set the clock, then type it again."
    )


class NewerBook(BookTrouble):
    """A book made by a later version."""

    sentence = mark(
        "{file} was made by a newer weldcal (format {found}, this one writes {known}). "
        "It can be read, not written: pip install --upgrade weldcal."
    )


class BadEntry(BookTrouble):
    """An entry that cannot be what it says it is."""

    sentence = mark("Entry {entry} cannot be read: {why}. Type: weldcal verify.")


_REASONS = {
    errno.ENOENT: mark("there is no such file or folder"),
    errno.EACCES: mark("you have no right to it"),
    errno.EPERM: mark("you have no right to it"),
    errno.EISDIR: mark("it is a folder"),
    errno.ENOTDIR: mark("a part of its path is no folder"),
    errno.EEXIST: mark("it is there already"),
    errno.ENOSPC: mark("the disk is full"),
    errno.EDQUOT: mark("the disk is full"),
    errno.EROFS: mark("the disk is read-only"),
    errno.EIO: mark("the disk does not answer"),
    errno.ENAMETOOLONG: mark("its name is too long"),
}


def reason(error: Exception) -> str:
    """Why the system refused, in plain words of the reader's language where we have them."""
    sentence = _REASONS.get(getattr(error, "errno", None) or 0)
    return _(sentence) if sentence else getattr(error, "strerror", None) or str(error)
