"""The PDF of a very large roof in files: the dossier itself, and its longest tables beside it.

Invariant: no row is lost: what is not in the first file stands in one of the others, and
the first says in which. Page 1, the contents and every shorter section stay where they are.
The HTML file is one, whatever the size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct, structs

from weldcal.reports.dossier.document import Block, Document, Para, Section, Table, table
from weldcal.words import _, plural

# Rows of one section beyond which its tables go into files of their own, and rows of one such
# file: setting a row takes typst some 50 kB, kept until the file is done.
MOST_ROWS, ROWS_AT_ONCE = 2000, 2500


class Volume(Struct, frozen=True):
    """A file beside the first."""

    path: Path
    document: Document


def split(document: Document, path: Path) -> tuple[Document, list[Volume]]:
    """The first file's document, and the files beside it; none where all of it goes into one.

    Args:
        document: the whole.
        path: of the first file.
    """
    volumes: list[Volume] = []
    sections = tuple(_relieved(section, document, path, volumes) for section in document.sections)
    return structs.replace(document, sections=sections), volumes


def clear(path: Path, kept: list[Volume]) -> None:
    """Remove files that an earlier, larger making left beside the first.

    Raises:
        OSError: one cannot be removed.
    """
    ours = re.compile(re.escape(f"{path.stem}-part-") + r"\d+\.pdf")
    names = {volume.path.name for volume in kept}
    for old in path.parent.glob("*.pdf"):
        if ours.fullmatch(old.name) and old.name not in names:
            old.unlink()


def _relieved(section: Section, document: Document, path: Path, volumes: list[Volume]) -> Section:
    """A section without its tables, where these are too long; they are made into volumes."""
    if sum(len(b.rows) for b in section.blocks if isinstance(b, Table)) <= MOST_ROWS:
        return section
    tables = [block for block in section.blocks if isinstance(block, Table)]
    blocks: list[Block] = [block for block in section.blocks if not isinstance(block, Table)]
    lines: list[tuple[str, str, str]] = []
    for parts in _together(tables):
        file = path.with_name(f"{path.stem}-part-{len(volumes) + 1}.pdf")
        named = _named(parts)
        lines.append((file.name, named, str(sum(len(part.rows) for part in parts))))
        volumes.append(Volume(file, _volume(document, section, named, parts)))
    blocks.append(Para(_("These tables are too long for one PDF: they stand in files beside it.")))
    headings = [_("File"), _("What it holds"), _("Rows")]
    blocks.append(table(_("Files beside this one"), headings, lines, (2,), (1.6, 2.4, 0.6)))
    return structs.replace(section, blocks=tuple(blocks))


def _together(tables: list[Table]) -> Iterator[list[Table]]:
    """Tables and parts of tables, in order, a file's worth at a time."""
    parts: list[Table] = []
    room = ROWS_AT_ONCE
    for whole in tables:
        rows = whole.rows
        while rows:
            parts.append(structs.replace(whole, rows=rows[:room], anchors=()))
            rows, room = rows[room:], room - len(rows[:room])
            if room == 0:
                yield parts
                parts, room = [], ROWS_AT_ONCE
    if parts:
        yield parts


def _named(parts: list[Table]) -> str:
    """What a file holds: its first and last row."""
    return _(
        "{what}: {first} to {last}",
        what=", ".join(dict.fromkeys(part.caption for part in parts)),
        first=parts[0].rows[0][0],
        last=parts[-1].rows[-1][0],
    )


def _volume(document: Document, section: Section, named: str, parts: list[Table]) -> Document:
    """A file of tables, which says what it belongs to."""
    notes = tuple(block for block in section.blocks if isinstance(block, Para))
    volume_note = plural(
        "{n} row. It belongs to the file: {title}.",
        "{n} rows. They belong to the file: {title}.",
        sum(len(part.rows) for part in parts),
        title=document.title,
    )
    return Document(
        title=f"{document.title}. {named}",
        subtitle=f"{document.subtitle} {volume_note}",
        language=document.language,
        made=document.made,
        sections=(Section(section.title, (*notes, *parts)),),
    )
