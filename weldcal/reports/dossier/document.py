"""A page as plain data: sections of paragraphs, lists, tables and figures.

Invariant: a document knows nothing of HTML or PDF; every figure has its words
(`alt`) and its numbers (`table`). Text is cleaned once, before it is set.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TypeVar, cast

import msgspec
from msgspec import Struct, structs

from weldcal.reports import show

# Code points no XML, HTML or PDF text may hold: noncharacters (Unicode §23.7) and private use.
T = TypeVar("T")
_UNFIT = re.compile(
    "[\ufdd0-\ufdef\ue000-\uf8ff"
    + "".join(
        f"{chr(plane + 0xFFFE)}{chr(plane + 0xFFFF)}" for plane in range(0, 0x110000, 0x10000)
    )
    + f"{chr(0xF0000)}-{chr(0xFFFFD)}{chr(0x100000)}-{chr(0x10FFFD)}]"
)


class Para(Struct, frozen=True, tag="para", tag_field="is"):
    """A paragraph; `loud` for what must not be overlooked."""

    text: str
    loud: bool = False


class Bullets(Struct, frozen=True, tag="bullets", tag_field="is"):
    """A list."""

    items: tuple[str, ...]


class Numbers(Struct, frozen=True, tag="numbers", tag_field="is"):
    """A few numbers that answer a question, large: each with what it counts and a note."""

    items: tuple[tuple[str, str, str], ...]


class Table(Struct, frozen=True, tag="table", tag_field="is"):
    """A table. The first column names the row.

    Attributes:
        anchors: names of places on the page, one a row; empty where nothing leads there.
        right: positions of columns of numbers.
        widths: shares of the page's width, one a column.
        fill: to be written in by hand: a grid with rows high enough for that.
    """

    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    widths: tuple[float, ...] = ()
    anchors: tuple[str, ...] = ()
    fill: bool = False


class Figure(Struct, frozen=True, tag="figure", tag_field="is"):
    """A drawing: SVG of our own making, its words, and the numbers it shows.

    `table` is None where the numbers stand in a table of the same section, which
    `caption` then names.
    """

    name: str
    caption: str
    alt: str
    svg: str
    table: Table | None = None


class PhotoBlock(Struct, frozen=True):
    """A photo at what it shows.

    Attributes:
        caption: what it is a photo of.
        sha256: of its bytes, which is its name in the record.
        link: the full size, beside the page; empty where there is none.
        jpeg: the small picture, base64; empty where none could be made.
        wide, high: of the small picture.
    """

    caption: str
    sha256: str
    link: str
    jpeg: str
    wide: int
    high: int


class Photos(Struct, frozen=True, tag="photos", tag_field="is"):
    """Photos side by side."""

    items: tuple[PhotoBlock, ...]


class Guide(Struct, frozen=True, tag="guide", tag_field="is"):
    """Where to find things: each with the title of the section that holds it, which it leads to."""

    caption: str
    page: str
    items: tuple[tuple[str, str], ...]


Block = Para | Bullets | Numbers | Table | Figure | Photos | Guide


class Section(Struct, frozen=True):
    """A heading with what stands under it; `anchor` names its place on the page."""

    title: str
    blocks: tuple[Block, ...] = ()
    sections: tuple[Section, ...] = ()
    new_page: bool = False
    anchor: str = ""


class Document(Struct, frozen=True):
    """A whole page or file of pages.

    Attributes:
        made: when, ISO 8601 with offset.
        lead: blocks before the first heading.
        compact: meant to fit one sheet of paper.
    """

    title: str
    subtitle: str
    language: str
    made: str
    lead: tuple[Block, ...] = ()
    sections: tuple[Section, ...] = ()
    compact: bool = False


def printable(text: str) -> str:
    """Text without signs that are obeyed or that no document may hold; pictures in their place."""
    return _UNFIT.sub(lambda found: f"⟨U+{ord(found[0]):04X}⟩", show.safe(text))


def cleaned(document: Document, clean: Callable[[str], str] = printable) -> Document:
    """The document with every text put through `clean`; drawings are cleaned where they are made."""
    return each(document, clean)


def each(part: T, clean: Callable[[str], str]) -> T:
    """A value with every text of it put through `clean`."""
    if isinstance(part, str):
        return cast("T", clean(part))
    if isinstance(part, tuple):
        return cast("T", tuple(each(one, clean) for one in part))
    if isinstance(part, Struct):
        kept = ("svg", "made", "language", "anchor", "anchors", "sha256", "link", "jpeg")
        return structs.replace(
            part,
            **{n: each(getattr(part, n), clean) for n in part.__struct_fields__ if n not in kept},
        )
    return part


def texts(document: Document) -> list[str]:
    """Every text of a document, in reading order."""
    found: list[str] = []
    each(document, lambda text: found.append(text) or text)  # type: ignore[func-returns-value]
    return found


def as_json(document: Document) -> str:
    """The document as JSON, for typst."""
    return msgspec.json.encode(document).decode()


def table(
    caption: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    right: Sequence[int] = (),
    widths: Sequence[float] = (),
    anchors: Sequence[str] = (),
) -> Table:
    """A table from sequences."""
    return Table(
        caption,
        tuple(headings),
        tuple(tuple(row) for row in rows),
        tuple(right),
        tuple(widths),
        tuple(anchors),
    )
