"""Loading a file: shown as it would be kept, and kept once somebody has said yes."""

from __future__ import annotations

from collections.abc import Callable

from weldcal.book import Book
from weldcal.cli.progress import Left, progress
from weldcal.cli.shell import ask, interactive, say
from weldcal.errors import Unconfirmed, Unlikely
from weldcal.intake.kept import LoadDone
from weldcal.long_work import Beat
from weldcal.records.fields import choose
from weldcal.reports import loaded, sentences, show
from weldcal.words import _

# The load of a book: rows to leave out, and a beat.
Verb = Callable[[Book, frozenset[int], Beat], LoadDone]


def load(book: Book, verb: Verb, *, yes: bool, as_json: bool, as_typed: bool = True) -> LoadDone:
    """Try a load on a copy of the book, show what it comes to, ask, and do it.

    Args:
        book: the book to load into.
        verb: the load.
        yes: nobody is asked.
        as_json: one JSON document is shown, so nobody can be asked.
        as_typed: values that are likely slips are kept as they stand in the file.

    Raises:
        Unconfirmed: nobody is there to say yes.
        Unlikely: nobody is there to be asked about a likely slip.
        Left: somebody said no.
    """
    units = book.job.units
    left: frozenset[int] = frozenset()
    if not (yes and as_typed):
        with book.recording.loading.trial() as copy, progress(quiet=as_json) as beat:
            tried = verb(copy, left, beat)
        if not yes and not _shown(tried, units, as_json=as_json):
            return tried
        if not as_typed:
            left = _slips_left_out(tried, units, asked=not (yes or as_json) and interactive())
        if not yes:
            _confirmed()
    with progress(quiet=as_json) as beat:
        done = verb(book, left, beat)
    if as_json:
        print(show.as_json(done.as_dict()))
        return done
    if yes:
        for line in (*loaded.left_out(done), *loaded.told(done, units)):
            say(line)
    return done


def _shown(tried: LoadDone, units: str, *, as_json: bool) -> bool:
    """Show what would be kept; whether there is something to say yes to."""
    if not tried.kept:
        if as_json:
            print(show.as_json(tried.as_dict()))
        for line in () if as_json else loaded.left_out(tried):
            say(line)
        return False
    if as_json:
        raise Unconfirmed
    for line in loaded.preview(tried, units):
        say(line)
    return True


def _slips_left_out(tried: LoadDone, units: str, *, asked: bool) -> frozenset[int]:
    """Rows with a likely slip that nobody said again: they wait to be put right in the file.

    Raises:
        Unlikely: nobody is there to be asked.
    """
    left = set()
    for row, note in [(one.row, note) for one in tried.kept for note in one.slips]:
        question = _(
            "Row {row}: {question}",
            row=row,
            question=sentences.asked_back(note.code, note.values, units),
        )
        if not asked:
            raise Unlikely(question=question)
        if row in left:
            continue
        said = ask(question, lambda typed: typed.strip(), left_out=_("Enter leaves the row out"))
        if said != str(note.values["typed"]).strip():
            left.add(row)
    for row in sorted(left):
        say(_("Row {row} is left out: put it right in the file and load it again.", row=row))
    return frozenset(left)


def _confirmed() -> None:
    if not interactive():
        raise Unconfirmed
    # Enter alone keeps nothing: the answer has to be typed.
    if ask(_("Keep these rows, yes or no"), lambda typed: choose("yes_no", typed)) != "yes":
        raise Left
