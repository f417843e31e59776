"""What the firm knows: learn it into a file, show it, take it in, forget it."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from weldcal.book import Book
from weldcal.cli import complete
from weldcal.cli.parse import JSON, argument, option, several
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, group, print_all, print_json, say, single
from weldcal.errors import NoneYet
from weldcal.reports import show
from weldcal.settings import path_of
from weldcal.words import _, plural

if TYPE_CHECKING:
    from weldcal.log.knowledge import KnowledgeRead

knowledge = group(_("What other jobs taught: a knowledge file."))
_FILE = argument(_("The file."))


@single
def learn(
    book: Book,
    file: str = _FILE,
    without: list[str] = several(
        "--without",
        _("A job to leave out: the one that will take the file in."),
        complete.names("jobs"),
    ),
    sign: str = option("--sign", _("A key file made with weldcal key, kept outside the book.")),
    as_json: bool = JSON,
) -> None:
    """Learn from every job of the book into a small file of numbers, with no names and no places in it. Example: weldcal learn firm.knowledge"""
    with progress(quiet=as_json) as on_progress:
        knowledge, names, digest = book.knowing.write_knowledge(
            path_of(file), without, path_of(sign) if sign else None, on_progress
        )
    from weldcal.reports import shared_names

    if as_json:
        print_json(
            {
                "file": file,
                "jobs": len(knowledge.jobs),
                "sha256": digest,
                "shared_names": shared_names.document(names),
            }
        )
        return
    say(
        plural(
            "{file} holds what {n} job taught. Code {code}. On a crew's laptop: weldcal knowledge take {file}",
            "{file} holds what {n} jobs taught. Code {code}. On a crew's laptop: weldcal knowledge take {file}",
            len(knowledge.jobs),
            file=show.safe(file),
            code=digest[:12],
        )
    )
    print_all(list(shared_names.learnt(names)))


@knowledge.command("show", cls=Command)
def knowledge_show(
    book: Book,
    file: str = argument(_("The file; what was taken in if not given."), default=None),
    as_json: bool = JSON,
) -> None:
    """Show in words what a knowledge file says. Example: weldcal knowledge show firm.knowledge"""
    if file:
        from weldcal.log.knowledge import read

        taught: KnowledgeRead | None = read(path_of(file))
    else:
        taught = book.knowing.knowledge_taken()
    if taught is None:
        raise NoneYet(what=_("knowledge file"), then=_("Take one in: weldcal knowledge take FILE"))
    _show(book, taught, as_json)


@knowledge.command("take", cls=Command)
def knowledge_take(
    book: Book,
    file: str = _FILE,
    key: str = option(
        "--key", _("The public key that must have signed it, as weldcal key told it.")
    ),
    as_json: bool = JSON,
) -> None:
    """Take a knowledge file in: advice rests on it too from now on, on this device. Example: weldcal knowledge take firm.knowledge"""
    own = _show(book, book.knowing.take_knowledge(path_of(file), key), as_json)
    if not (own or as_json):
        say(_("Taken in: advice here rests on it too, until weldcal knowledge forget."))


@knowledge.command("forget", cls=Command)
def knowledge_forget(book: Book, as_json: bool = JSON) -> None:
    """Put the knowledge file away again. Example: weldcal knowledge forget"""
    book.knowing.forget_knowledge()
    if as_json:
        print_json({"taken": None})
    else:
        say(_("Advice rests on this book's own jobs again."))


def _show(book: Book, knowledge: KnowledgeRead, as_json: bool) -> bool:
    """Show a knowledge file; whether this very job taught it."""
    from weldcal.reports import knowledge as pages

    met = book.knowing.met_by(knowledge)
    if as_json:
        print_json(pages.document(knowledge, met))
        return met.own
    print_all(pages.page(knowledge, met))
    if met.own:
        say(
            _(
                "This very job taught it, so advice here does without the file. "
                "One for this job: weldcal learn FILE --without {job}",
                job=show.safe(shlex.quote(book.job.name)),
            )
        )
    return met.own
