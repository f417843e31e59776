"""Documents and files as lines of text: each table's row a line, each drawing's element a line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec import structs

from tests.dossier.drawings import told
from weldcal.reports.dossier import html, pdf
from weldcal.reports.dossier.document import (
    Bullets,
    Document,
    Figure,
    Guide,
    Numbers,
    Para,
    Photos,
    Section,
    Table,
)
from weldcal.reports.forms import Form


def of_document(document: Document) -> Iterator[str]:
    """A document, in reading order."""
    yield f"= {document.title} ({document.language}{', compact' * document.compact})"
    yield document.subtitle
    for block in document.lead:
        yield from _block(block)
    for section in document.sections:
        yield from _section(section, 2)


def _section(section: Section, depth: int) -> Iterator[str]:
    new = " (new page)" * section.new_page
    yield f"{'=' * depth} {section.title}{new} {section.anchor}"
    for block in section.blocks:
        yield from _block(block)
    for part in section.sections:
        yield from _section(part, depth + 1)


def _block(block: Any) -> Iterator[str]:
    match block:
        case Para(text, loud):
            yield f"{'LOUD ' * loud}{text}"
        case Bullets(items):
            yield from (f"- {item}" for item in items)
        case Numbers(items):
            yield from (f"number: {' | '.join(item)}" for item in items)
        case Table():
            yield from _table(block)
        case Figure():
            yield f"figure {block.name}: {block.caption}"
            yield block.alt
            yield from told(block.svg)
            if block.table is not None:
                yield from _table(block.table)
        case Guide(caption, page, items):
            yield f"guide {caption} {page}"
            yield from (f"guide: {' | '.join(item)}" for item in items)
        case Photos(items):
            yield from (f"photo: {item.told}" for item in items)


def _table(table: Table) -> Iterator[str]:
    shares = ":".join(f"{width:g}" for width in table.widths)
    right = ",".join(map(str, table.right))
    yield f"table {table.caption} [{shares}] right {right or 'none'}{', to fill in' * table.fill}"
    yield " | ".join(table.headings)
    anchors = table.anchors or ("",) * len(table.rows)
    for row, anchor in zip(table.rows, anchors, strict=True):
        yield f"{' | '.join(row)}{' #' * bool(anchor)}{anchor}"


def of_form(form: Form) -> Iterator[str]:
    """A sheet of paper."""
    for name, value in structs.asdict(form).items():
        if name == "columns":
            yield from (f"column {c.label} | {c.name} | {c.share:g}" for c in value)
        elif name == "rows":
            yield from (f"row {' | '.join(row)}" for row in value)
        elif isinstance(value, tuple):
            yield from (f"{name}: {line}" for line in value)
        elif name != "made":
            yield f"{name}: {value}"


class Written:
    """What commands write, taken before it is set as HTML or PDF, which takes seconds."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
        self.folder = folder
        self.lines: list[str] = []

        def take(told: Callable[[Any], Iterator[str]], instead: Any) -> Callable[..., Any]:
            def taken(made: Any, *_rest: Any) -> Any:
                self.lines += told(made)
                return instead

            return taken

        monkeypatch.chdir(folder)
        monkeypatch.setattr(html, "render", take(of_document, ["page"]))
        monkeypatch.setattr(pdf, "render", take(lambda _made: iter(()), b"%PDF"))
        monkeypatch.setattr(pdf, "form", take(of_form, b"%PDF"))

    def since(self) -> str:
        """What was written since this was last asked."""
        for path in sorted(self.folder.rglob("*")):
            if path.suffix == ".svg":
                self.lines += [f"drawing {path.name}", *told(path.read_text())]
            elif path.suffix == ".csv":
                self.lines += [f"file {path.name}", *path.read_text().splitlines()]
            else:
                continue
            path.unlink()
        lines, self.lines = self.lines, []
        return "".join(f"{line}\n" for line in lines)
