"""Names and notes as mischief writes them: shown as typed, never HTML, SVG, typst or a formula."""

from __future__ import annotations

import csv
import io
import shutil
from pathlib import Path
from typing import Any

import html5lib
import pypdf
import pytest

from tests.dossier.conftest import MONDAY, Made, run

NAMES = [
    "<script>alert(1)</script>",
    "</svg><img src=x onerror=alert(1)>",
    '" onmouseover="alert(1)',
    "&lt;b&gt;&amp;",
    "{{ 7 * 7 }}",
    "{% raw %}",
    "]]><x>",
    "<!-- --",
    "#panic(1)",
    "$x$ *b* _i_ `c`",
    '#import "/etc/passwd"',
    "@ref <label>",
    "\\u{41}",
    "// c",
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "[bold]x[/]",
    "%s {name}",
    "a\nb",
    "\x1b[31mred",
    "abc\u202egpj",
    "\ufffe\uffff",
    "\ue000",
    "🔥",
    "中文縫",
    "שלום",
    "مرحبا",
    "e\u0301\u200b",
    "\u2640\ufe0f\u200d",
    "1\ufe0f\u20e3",
    "x\u0301\u0302",
    "\u0928\u093f",
]


@pytest.fixture(scope="module")
def wild(made: Any, tmp_path_factory: Any) -> Made:
    """A roof whose people, seams, notes, reasons and labels are all of that kind."""
    from weldcal.cli.main import main

    path = tmp_path_factory.mktemp("wild") / "book.sqlite"
    shutil.copyfile(made.book, path)
    for name in NAMES:
        for words in (
            ["seam", "add", "--", name],
            [
                "seam",
                "start",
                "--nozzle",
                "932",
                "--speed",
                "5.5",
                f"--by={name}",
                f"--note={name}",
                "--",
                name,
            ],
            ["seam", "finish", "--to", "30", f"--why={name}", "--", name],
            ["finding", "--by", "Ben Okoro", "--", name, "void", "3-4"],
            ["amend", f"--why={name}", "S1", "note", "--", name],
            ["conditions", "--ambient", "60F", f"--instrument={name}"],
        ):
            assert main(["--book", str(path), *words], clock=lambda: MONDAY) == 0, words
    run(path, MONDAY, "seal --label '<b>=1+1</b>'")
    return Made(path)


def test_html_stays_one_page_of_our_own_elements(wild: Made, made: Any) -> None:
    """Parsed strictly, it has no element or attribute that the tame page has not."""

    def kinds(text: str) -> set[tuple[str, str]]:
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)
        return {
            (e.tag, str(name))
            for e in tree.iter()
            if isinstance(e.tag, str)
            for name in ("", *e.attrib)
        }

    assert kinds(wild.html) <= kinds(made.html)


def test_html_shows_names_as_typed(wild: Made) -> None:
    """Those of plain signs come out of a cell letter by letter."""
    tree = html5lib.parse(wild.html, namespaceHTMLElements=False)
    told = "\n".join(
        "".join(e.itertext()) for tag in ("td", "th", "h3", "li") for e in tree.iter(tag)
    )
    for name in NAMES[:20]:
        assert name in told, name


def test_pdf_is_set_and_shows_names_as_typed(wild: Made) -> None:
    """typst reads none of them; what no font has stands as its code point."""
    told = "".join(
        "".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(wild.pdf)).pages
    )
    for name in NAMES[:20]:
        assert "".join(name.split()) in told, name
    for unshown in ("U+FFFE", "U+E000", "U+202E"):
        assert unshown in told


def test_a_font_that_lacks_a_sign_leaves_no_empty_box() -> None:
    """A sign of a script no machine has a font for is spelled out, its neighbours are not."""
    from weldcal.reports.dossier import pdf

    assert pdf._unshown(["A", "é", "\U0003134a", "–"]) == ["\U0003134a"]
    assert pdf._unshown(["A", "é", "–"]) == []


def test_no_cell_of_the_csv_is_a_formula(wild: Made, tmp_path: Path) -> None:
    """Every cell that begins like one has a quote before it; rows and columns hold."""
    from weldcal.book import Book
    from weldcal.long_work import atomic_writes
    from weldcal.reports.dossier import csv_files

    book = Book(wild.book)
    with atomic_writes() as opened:
        files = csv_files.write(
            tmp_path / "w", wild.facts, book.dossiers.findings_in_full(), opened
        )
    for path in files:
        with path.open(newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        assert len({len(row) for row in rows}) == 1
        assert not [
            cell
            for row in rows
            for cell in row
            if cell.startswith(("=", "+", "@", "\t", "\r", "\n"))
            or (cell[:1] == "-" and not cell[1:2].isdigit())
        ]
    assert any(cell == "'=1+1" for row in rows for cell in row)


def test_the_evening_page_obeys_no_name(wild: Made, weldcal: Any) -> None:
    """On the terminal, in HTML and in PDF."""
    shutil.copyfile(wild.book, weldcal.book)
    weldcal.clock.moment = MONDAY
    folder = weldcal.book.parent
    said = weldcal.ok(
        "evening", "--html", str(folder / "e.html"), "--pdf", str(folder / "e.pdf")
    ).out
    assert "\x1b" not in said
    html5lib.HTMLParser(strict=True).parse((folder / "e.html").read_text())
    assert (folder / "e.pdf").read_bytes().startswith(b"%PDF")
