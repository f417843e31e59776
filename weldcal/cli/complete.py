"""What Tab offers: commands, names out of the book, words of a choice.

Invariant: quick and silent. Where there is no book, or any trouble with it,
nothing is offered and nothing is said; nothing is ever written.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import typer

from weldcal import settings
from weldcal.records.fields import CHOICES
from weldcal.words import _

Offer = Callable[[typer.Context, str], list[str]]


def names(*tables: str) -> Offer:
    """Names of the job's things of these tables."""

    def offer(ctx: typer.Context, incomplete: str) -> list[str]:
        from weldcal.book import Book

        typed = ctx.find_root().params
        book = Book(settings.book_path(typed.get("book")), job=typed.get("job"))
        try:
            found = [name for table in tables for name in book.names_in(table)]
        except Exception:  # Tab is no place to tell of trouble; the command itself will
            return []
        finally:
            book.close()
        whole = (name for name in dict.fromkeys(found) if name.isprintable())  # the shell shows it
        return [name for name in whole if name.startswith(incomplete)]

    return offer


def words(field: str) -> Offer:
    """The words of a choice, in the reader's language."""

    def offer(ctx: typer.Context, incomplete: str) -> list[str]:
        return [_(word) for word in CHOICES[field][1]]

    return offer


def limits(ctx: typer.Context, incomplete: str) -> list[str]:
    """The limits there are."""
    from weldcal.book.setup import limit_defaults

    return list(limit_defaults())


SEAMS = names("seams")
STRIPS = names("strips")
FINDINGS = names("findings")
MACHINES = names("machines")
SHEETS = names("sheets")
PEOPLE = names("people")
INSTRUMENTS = names("instruments")
ANYTHING = names("strips", "runs", "bleeds", "walks", "findings", "mends", "peels", "seams")


def tab(app: typer.Typer) -> int:
    """Answer the shell, which asks through the environment."""
    try:
        _quote_for_bash()
        typer.main.get_command(app).main([], prog_name="weldcal", standalone_mode=False)
    except SystemExit as gone:
        return int(gone.code or 0)
    except Exception:
        pass
    return 1


def _quote_for_bash() -> None:
    """bash puts in what it is given as it is: spaces need their backslash."""
    from typer import completion

    typers: Any = completion  # it exports nothing by name
    typers.completion_init()
    bash = typers.shell_completion.get_completion_class("bash")

    class Quoting(bash):  # type: ignore[misc, valid-type]
        def format_completion(self, item: Any) -> str:
            return re.sub(r"([^\w@%+=:,./-])", r"\\\1", str(item.value))

    typers.shell_completion.add_completion_class(Quoting, "bash")
