"""Mistakes: the last thing taken back, or one named, or put back again."""

from __future__ import annotations

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import BY, JSON, argument, flag, option
from weldcal.cli.replies import GoBack
from weldcal.cli.shell import ask, interactive, print_all, print_json, say, single
from weldcal.errors import Missing, Unconfirmed
from weldcal.records.notes import BACK_BY_MISTAKE, BY_MISTAKE
from weldcal.reports import taken_back
from weldcal.words import _, mark


class NotDone(Missing):
    """Somebody went back from the last question before it was done."""

    sentence = mark("Nothing was taken back or put back.")


@single
def undo(
    book: Book,
    name: str = argument(
        _(
            "What is taken back, like S3, W2 or a seam; the last thing you recorded here if not given."
        ),
        complete.ANYTHING,
        default=None,
    ),
    back: bool = flag("--back", _("Put back what was taken back.")),
    why: str = option("--why", _("The reason; a slip in typing if not given.")),
    yes: bool = parse.YES,
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Take back what was recorded by mistake; it stays readable, and counts for nothing.

    Example: weldcal undo S3 --why "wrong machine"
    """
    units = book.job.units
    act = book.recording.undoing.act(name, by=by, back=back)
    if not as_json:
        print_all(taken_back.page(act, units))
    reason = why or (BACK_BY_MISTAKE if back else BY_MISTAKE)
    if not yes:
        reason = _asked(reason, quiet=as_json)
    undone = book.recording.undoing.undo(act, reason, by=by)
    if as_json:
        print_json({"id": undone.id, "name": undone.name, **undone.values, "why": reason})
        return
    names = ", ".join(dict.fromkeys(taken_back.called(part.row) for part in act.parts))
    if back:
        say(_("Put back: {name}. It counts again.", name=names))
    else:
        say(_("Taken back: {name}. To put it back: weldcal undo --back", name=names))


def _asked(reason: str, *, quiet: bool) -> str:
    """The reason, once somebody has given it or taken the one shown.

    Raises:
        Unconfirmed: nobody is there to be asked.
        NotDone: the answer was a word for going back, which is no reason.
    """
    if quiet or not interactive():
        raise Unconfirmed
    try:
        typed = ask(
            _("Why? Enter takes the reason shown, q leaves all as it is"),
            str,
            taken_back.reason(reason),
        )
    except GoBack:
        raise NotDone from None
    return reason if typed in (None, taken_back.reason(reason)) else str(typed)
