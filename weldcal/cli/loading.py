"""Loading a file: shown as it would be kept, and kept once somebody has said yes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice

from weldcal.book import Book
from weldcal.book.core import Note
from weldcal.book.recording.loading import Sheets
from weldcal.cli.progress import BrokenOff, progress
from weldcal.cli.shell import ask, interactive, keystroke, print_all, say
from weldcal.errors import Unconfirmed, Unlikely
from weldcal.intake.kept import LoadDone, RowKept
from weldcal.intake.staged import Staged
from weldcal.records.fields import choose
from weldcal.reports import lines, loaded, sentences, show
from weldcal.words import _, plural

# Which sheets of a book.
Kind = Callable[[Book], Sheets]

_PAGE = 25  # rows shown at a time to somebody at a terminal


def load(
    book: Book,
    kind: Kind,
    staged: Staged,
    *,
    yes: bool,
    as_json: bool,
    as_typed: bool = True,
) -> LoadDone:
    """Try a load on a copy of the book, show the result, ask, and do it.

    Args:
        book: the book to load into.
        kind: which sheets.
        staged: the rows of the file.
        yes: nobody is asked, so nothing is tried first.
        as_json: one JSON document is shown, so nobody can be asked.
        as_typed: values that are likely slips are kept as they stand in the file.

    Raises:
        Unconfirmed: nobody is there to say yes.
        Unlikely: nobody is there to be asked about a likely slip.
        Left: somebody said no.
    """
    sheets = kind(book)
    if yes and not as_typed:
        with progress(quiet=as_json):
            _refuse_slips(sheets.slips(staged), book.job.units)
    if not yes and not _agreed(sheets, kind, staged, as_json=as_json, as_typed=as_typed):
        return LoadDone(0, 0, staged.good(), staged.bad())
    with progress(quiet=as_json) as on_progress:
        done = sheets.keep(staged, on_progress)
    if as_json:
        _document(sheets, staged, done)
    elif yes:
        for line in (
            *loaded.left_out(staged),
            *loaded.odd_lines(sheets.kept(staged), book.job.units),
        ):
            say(line)
    return done


def _agreed(sheets: Sheets, kind: Kind, staged: Staged, *, as_json: bool, as_typed: bool) -> bool:
    """Show the rows as they would be kept and ask; whether there is something to say yes to.

    Raises:
        Unconfirmed, Unlikely: nobody is there to be asked.
        Left: somebody said no.
    """
    with sheets.trial() as copy:
        trial = kind(copy)
        with progress(quiet=as_json) as on_progress:
            done = trial.keep(staged, on_progress)
        if not (done.recorded or done.findings):
            _nothing_new(trial, staged, done, as_json=as_json)
            return False
        if as_json:
            raise Unconfirmed
        _preview(trial.kept(staged), staged.counts()[0], copy.job.units)
        print_all(loaded.left_out(staged))
        left = set() if as_typed else _slips_left_out(trial.slips(staged), copy.job.units)
    staged.leave(left)
    _confirmed()
    return True


def _nothing_new(trial: Sheets, staged: Staged, done: LoadDone, *, as_json: bool) -> None:
    if as_json:
        _document(trial, staged, done)
        return
    print_all(loaded.left_out(staged))


def _document(sheets: Sheets, staged: Staged, done: LoadDone) -> None:
    """Print what a load came to as one JSON document, part after part."""
    for part in show.json_parts(loaded.document(staged, sheets.kept(staged), done.known)):
        print(part, end="")
    print()


def _preview(kept: Iterator[RowKept], rows: int, units: str) -> None:
    """Show the rows as they would be kept: page after page to somebody at a terminal."""
    say(_("AS IT WOULD BE KEPT, nothing is yet:"))
    count = 0
    while some := list(islice(kept, _PAGE)):
        for one in some:
            print_all(loaded.row(one, units))
        count += len(some)
        if count < rows and not _more(rows - count):
            break
    # What is odd about the rows that nobody wanted to see one by one.
    print_all(loaded.odd_lines(kept, units))


def _more(left: int) -> bool:
    """Whether somebody wants to see the next page; where nobody is asked, all is shown."""
    if not interactive():
        return True
    question = plural(
        "{n} more row. Enter shows more, end goes to what is odd about the rest",
        "{n} more rows. Enter shows more, end goes to what is odd about the rest",
        left,
    )
    return not keystroke(lines.prompt(f"{question}: ")).strip()


def _refuse_slips(slips: Iterator[tuple[int, Note]], units: str) -> None:
    """Refuse the first row with a likely slip.

    Raises:
        Unlikely: nobody is asked.
    """
    for row, note in slips:
        raise Unlikely(question=_question(row, note, units))


def _question(row: int, note: Note, units: str) -> str:
    return _(
        "Row {row}: {question}",
        row=row,
        question=sentences.asked_back(note.code, note.values, units),
    )


def _slips_left_out(slips: Iterator[tuple[int, Note]], units: str) -> set[int]:
    """Rows with a likely slip that nobody said again: they wait to be put right in the file.

    Raises:
        Unlikely: nobody is there to be asked.
    """
    if not interactive():
        _refuse_slips(slips, units)
    left: set[int] = set()
    for row, note in slips:
        if row in left:
            continue
        answer = ask(
            _question(row, note, units),
            lambda typed: typed.strip(),
            left_out=_("Enter leaves the row out"),
        )
        if answer != str(note.values["typed"]).strip():
            left.add(row)
    for row in sorted(left):
        say(_("Row {row} is left out: put it right in the file and load it again.", row=row))
    return left


def _confirmed() -> None:
    if not interactive():
        raise Unconfirmed
    # Enter alone keeps nothing: the answer has to be typed.
    if ask(_("Keep these rows, yes or no"), lambda typed: choose("yes_no", typed)) != "yes":
        raise BrokenOff
