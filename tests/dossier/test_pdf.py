"""The PDF: what it declares, its structure, and that it says the numbers of the tables.

Whether it conforms to PDF/A-2a and PDF/UA-1 is unproven here: no validator runs; `tests/bench/pages.py`
runs those that are at hand.
"""

from __future__ import annotations

import io
import re
import unicodedata
from typing import Any

import pikepdf
import pypdf
import pytest
from msgspec import structs

from weldcal.reports.dossier import pdf as setting
from weldcal.reports.dossier.document import Figure, Numbers, Table


@pytest.fixture(scope="module")
def pdf(made: Any) -> pikepdf.Pdf:
    """The file, opened."""
    return pikepdf.open(io.BytesIO(made.pdf))


@pytest.fixture(scope="module")
def told(made: Any) -> str:
    """Its text, without white space."""
    reader = pypdf.PdfReader(io.BytesIO(made.pdf))
    return squeezed("".join(page.extract_text() for page in reader.pages))


def squeezed(text: str) -> str:
    """Without white space; ligatures as letters."""
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", text))


def test_it_declares_its_standards(pdf: pikepdf.Pdf) -> None:
    """XMP: PDF/A part 2 level A, PDF/UA part 1."""
    with pdf.open_metadata() as meta:
        assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("2", "A")
        assert meta["pdfuaid:part"] == "1"
        assert "Warranty dossier" in str(meta["dc:title"])


def test_it_has_what_an_archive_file_must_have(pdf: pikepdf.Pdf) -> None:
    """An output intent, no encryption, no script, no attachment, every font embedded."""
    root = pdf.Root
    assert "/OutputIntents" in root
    assert not pdf.is_encrypted
    assert "/JavaScript" not in root.get("/Names", {})
    assert "/EmbeddedFiles" not in root.get("/Names", {})
    assert "/OpenAction" not in root or "/JS" not in root.OpenAction
    fonts = [
        o
        for o in pdf.objects
        if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"
    ]
    assert fonts
    assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(font.keys()) for font in fonts)


def test_it_is_tagged_in_a_language_with_outline_and_title(pdf: pikepdf.Pdf, made: Any) -> None:
    """Marked, a structure tree, a language, a shown title, bookmarks named as the sections."""
    root = pdf.Root
    assert bool(root.MarkInfo.Marked) is True
    assert "/StructTreeRoot" in root
    assert str(root.Lang) == made.document.language
    assert bool(root.ViewerPreferences.DisplayDocTitle) is True
    with pdf.open_outline() as outline:
        assert [item.title for item in outline.root] == [s.title for s in made.document.sections]


def test_drawings_and_tables_are_tagged(pdf: pikepdf.Pdf, made: Any) -> None:
    """As many figures with words as there are drawings; tables with heads."""
    tags: dict[str, list[Any]] = {}
    for item in pdf.objects:
        if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/StructElem":
            tags.setdefault(str(item.S), []).append(item)
    figures = [e for e in tags["/Figure"] if "/Alt" in e]
    assert {str(e.Alt) for e in figures} == {f.alt for f in made.figures().values()}
    assert len(tags["/Table"]) == len(made.tables())
    assert len(tags["/TH"]) == sum(len(t.headings) for t in made.tables())


def test_every_page_has_its_number(made: Any) -> None:
    """`3 / 12` on page 3 of 12."""
    pages = pypdf.PdfReader(io.BytesIO(made.pdf)).pages
    for n, page in enumerate(pages, 1):
        assert f"{n}/{len(pages)}" in squeezed(page.extract_text())


def test_every_cell_of_every_table_is_in_its_text(made: Any, told: str) -> None:
    """Row by row, cells in their order."""
    for table in made.tables():
        for row in table.rows:
            for cell in row:
                assert squeezed(cell) in told, (table.caption, cell)


def test_page_1_holds_the_answer(made: Any) -> None:
    """The roof's caption, the three numbers and every row, before anything else."""
    first = squeezed(pypdf.PdfReader(io.BytesIO(made.pdf)).pages[0].extract_text())
    for block in made.document.lead:
        if isinstance(block, Figure):
            assert squeezed(block.caption) in first
        elif isinstance(block, Numbers):
            assert all(squeezed("".join(item)) in first for item in block.items)
        elif isinstance(block, Table):
            assert all(squeezed(row[0]) in first for row in block.rows)


def test_html_and_pdf_say_the_same(made: Any, told: str) -> None:
    """Every text of the HTML body is in the PDF, but for the contents list and the skip link."""
    import html5lib

    body = html5lib.parse(made.html, namespaceHTMLElements=False).find("body")
    for tag in ("h1", "h2", "h3", "p", "li", "figcaption", "caption", "th", "td"):
        for element in body.iter(tag):
            text = squeezed("".join(element.itertext()))
            assert text in told or element.find("a") is not None, text


def test_the_same_record_gives_the_same_file(made: Any) -> None:
    """Nothing in it depends on when or where typst ran."""
    from weldcal.reports.dossier import pdf

    def body(data: bytes) -> bytes:
        return re.sub(rb"<xmpMM:(\w+)>[^<]*<|/ID ?\[[^\]]*\]", b"", data)

    assert body(pdf.render(made.document, "letter")) == body(made.pdf)


def test_a4_is_a4(made: Any) -> None:
    """210 by 297 mm."""
    from weldcal.reports.dossier import pdf

    box = pypdf.PdfReader(io.BytesIO(pdf.render(made.document, "a4"))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (
        pytest.approx(595.28, abs=0.1),
        pytest.approx(841.89, abs=0.1),
    )


def test_every_stream_is_as_long_as_it_says(made: Any) -> None:
    """Read either way: no stream's own last byte can be taken for half of the line's end after it."""
    for paper in ("letter", "a4"):
        data = setting.render(made.document, paper)
        for found in re.finditer(rb"/Length (\d+)\b[^>]*>>\s*stream\r?\n", data):
            end = found.end() + int(found[1])
            assert re.match(rb"(\n|\r)endstream", data[end:])
            assert data[end - 1 : end + 1] != b"\r\n"


def test_a_stream_that_ends_in_cr_is_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever a font or a picture comes to; the length of the file, and so every offset, stays."""
    wrote = b"<</Length 3>>\nstream\nab\r\nendstream\nendobj"
    monkeypatch.setattr(setting.typst, "compile", lambda *a, **k: wrote)
    found = setting._compile(b"", {})
    assert found == b"<</Length 3>>\nstream\nab\r\rendstream\nendobj"


def test_the_foot_of_a_page_has_room_for_a_short_name_only(made: Any) -> None:
    """A long name is cut there, and stands in full where the document begins."""
    named = structs.replace(made.document, title="A roof with a very long name " * 8)
    first = pypdf.PdfReader(io.BytesIO(setting.render(named, "letter"))).pages[0].extract_text()
    assert squeezed(named.title) in squeezed(first)
    assert squeezed(first).count(squeezed("very long name")) < 8 + 3
    assert "…" in first
