"""Loading a file: shown as it would be kept, and kept once somebody has said yes."""

from __future__ import annotations

from collections.abc import Callable

from weldcal.book import Book
from weldcal.book.recording.loading import LoadDone
from weldcal.cli.progress import Left, progress
from weldcal.cli.shell import ask, interactive, say
from weldcal.errors import Unconfirmed
from weldcal.long_work import Beat
from weldcal.records.fields import choose
from weldcal.reports import loaded, show
from weldcal.words import _

Verb = Callable[[Book, Beat], LoadDone]


def load(book: Book, verb: Verb, *, yes: bool, as_json: bool) -> LoadDone:
    """Try a load on a copy of the book, show what it comes to, ask, and do it.

    Args:
        book: the book to load into.
        verb: the load, of a book and a beat.
        yes: nobody is asked, and nothing tried first.
        as_json: one JSON document is shown, so nobody can be asked.

    Raises:
        Unconfirmed: nobody is there to say yes.
        Left: somebody said no.
    """
    units = book.job.units
    if not yes:
        _confirmed(book, verb, units, as_json)
    with progress(quiet=as_json) as beat:
        done = verb(book, beat)
    if as_json:
        print(show.as_json(done.as_dict()))
        return done
    if yes:
        for line in (*loaded.left_out(done), *loaded.told(done, units)):
            say(line)
    return done


def _confirmed(book: Book, verb: Verb, units: str, as_json: bool) -> None:
    with book.recording.loading.trial() as copy, progress(quiet=as_json) as beat:
        tried = verb(copy, beat)
    if not tried.kept:  # nothing would be kept, so there is nothing to say yes to
        for line in () if as_json else loaded.left_out(tried):
            say(line)
        return
    if as_json:
        raise Unconfirmed
    for line in loaded.preview(tried, units):
        say(line)
    if not interactive():
        raise Unconfirmed
    # Enter alone keeps nothing: the answer has to be typed.
    if ask(_("Keep these rows, yes or no"), lambda typed: choose("yes_no", typed)) != "yes":
        raise Left
