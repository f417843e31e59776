"""Names that stand for more than one machine or sheet: said, with what to type."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from weldcal.reports import show
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.views.knowledge import FirmNames

THINGS = ("machine", "sheet")
_MOST_JOBS = 3


def leads_to_none(what: str, name: str, n: int) -> str:
    """That a name is of several things of the firm, and what to type on a job where it is one.

    Args:
        what: machine or sheet.
        name: as this job lists it.
        n: how many have it.
    """
    values = {"name": show.safe(name), "n": n}
    return (
        (
            _("{name} is the name of {n} machines: nothing of its own is known.", **values)
            if what == "machine"
            else _("{name} is the name of {n} sheets: nothing of its own is known.", **values)
        )
        + " "
        + _(
            "If it is one of them: weldcal {what} same {quoted} --with JOB, a job it was on; "
            "where this book has none, first weldcal merge a pack of it.",
            what=what,
            quoted=show.quoted(name),
        )
    )


def learnt(names: FirmNames) -> Iterator[str]:
    """The names that lead to nothing in a file just learnt, and what to type where two are one.

    Args:
        names: of the book it was learnt from.
    """
    for what in THINGS:
        for name, jobs in names.shared(what).items():
            values = {"name": show.safe(name), "n": len(jobs), "jobs": show.some(jobs, _MOST_JOBS)}
            yield (
                (
                    _("{name} is the name of {n} machines here ({jobs}).", **values)
                    if what == "machine"
                    else _("{name} is the name of {n} sheets here ({jobs}).", **values)
                )
                + " "
                + _(
                    "In the file that name leads to none of them; a crew's own jobs still do. "
                    "If two are one: weldcal --job {first} {what} same {quoted} --with {second}, "
                    "then learn again.",
                    first=show.quoted(jobs[0]),
                    what=what,
                    quoted=show.quoted(name),
                    second=show.quoted(jobs[1]),
                )
            )


def document(names: FirmNames) -> dict[str, dict[str, list[str]]]:
    """The same as JSON: for each name, a job of every thing it is the name of.

    Args:
        names: of the book it was learnt from.
    """
    return {f"{what}s": names.shared(what) for what in THINGS}
