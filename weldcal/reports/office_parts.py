"""What the office's pages are made of: tables and sentences, on the terminal and in HTML alike."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from weldcal.reports import show
from weldcal.reports.dossier.document import Document, Para, Section, table
from weldcal.words import _, language

Cells = list[list[str]]


class PageTable(Struct, frozen=True):
    """A table of a page."""

    title: str
    headings: list[str]
    rows: Cells


class Page(Struct, frozen=True):
    """A page: what it says first, its tables, what it says last."""

    title: str
    first: tuple[str, ...]
    parts: tuple[PageTable, ...]
    last: tuple[str, ...] = ()


def document(page: Page, made: str) -> Document:
    """A page as a document."""
    sections = [
        Section(
            part.title,
            (table("", part.headings, part.rows) if part.rows else Para(_("nothing recorded")),),
        )
        for part in page.parts
    ]
    return Document(
        title=page.title,
        subtitle=_("Made {at}.", at=show.clock(made)),
        language=language(),
        made=made,
        lead=tuple(Para(line) for line in page.first),
        sections=(
            *sections,
            *([Section(_("To read it by"), _paras(page.last))] if page.last else []),
        ),
    )


def _paras(lines: Sequence[str]) -> tuple[Para, ...]:
    return tuple(Para(line) for line in lines)


def span(low: float, high: float, units: str) -> str:
    """Between which speeds."""
    return _("{low} to {high}", low=show.speed(low, units, 1), high=show.speed(high, units, 1))
