"""The HTML file: valid, in order, readable without eyes, without a network and on any paper."""

from __future__ import annotations

import itertools
import re
import shutil
import subprocess
import unicodedata
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import html5lib
import pytest

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def text(made: Any) -> str:
    """The file."""
    return made.html


@pytest.fixture(scope="module")
def tree(text: str) -> Any:
    """The file, parsed as a browser does; any parse error fails."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)


def test_it_parses_without_an_error(tree: Any) -> None:
    """html5lib in strict mode raises at the first."""
    assert tree.find("body") is not None


def test_headings_are_in_order(tree: Any) -> None:
    """One h1, first; no level is skipped."""
    levels = [
        int(e.tag[1])
        for e in tree.iter()
        if isinstance(e.tag, str) and re.fullmatch("h[1-6]", e.tag)
    ]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_every_drawing_has_its_words_and_a_caption(tree: Any, made: Any) -> None:
    """A picture, or a group of links where it has any, with a label that says something; a figcaption."""
    figures = list(tree.iter("figure"))
    assert len(figures) == len(made.figures())
    for figure in figures:
        (svg,) = figure.iter(f"{SVG}svg")
        assert svg.get("role") == ("group" if list(svg.iter(f"{SVG}a")) else "img")
        assert len(svg.get("aria-label")) > 40
        assert "".join(figure.find("figcaption").itertext()).strip()


def test_every_drawing_has_its_numbers_in_a_table(made: Any) -> None:
    """Its own, or the one that its caption names; the legend is words."""
    captions = {t.caption for t in made.tables()}
    for figure in made.figures().values():
        if figure.name == "legend":
            continue
        if figure.table is None:
            assert "table of seams" in figure.caption
            assert "Seams" in captions
        else:
            assert figure.table.rows


def test_every_axis_has_unit_and_sample_size(made: Any) -> None:
    """The words on charts: a unit or what is counted, and n."""
    for name, figure in made.figures().items():
        words = " ".join(re.findall(r">([^<>]+)</text>", figure.svg))
        if name.startswith(("fit", "bleed", "control")):
            assert re.search(r"\bin\b", words)
        if name.startswith("rates"):
            assert "100 ft" in words
        if name.startswith(("fit", "bleed", "control", "rates")):
            assert "n = " in words
        if name.startswith("bars"):
            assert re.search(r"\d ft\b", words)
            assert "n = 8 seams" in figure.caption


def test_tables_say_what_their_cells_are(tree: Any) -> None:
    """A caption, column heads with scope, a row head in each row, as many cells as heads."""
    for table in tree.iter("table"):
        assert "".join(table.find("caption").itertext()).strip()
        heads = table.findall("thead/tr/th")
        assert all(th.get("scope") == "col" for th in heads)
        for row in table.findall("tbody/tr"):
            assert [cell.tag for cell in row] == ["th", *["td"] * (len(heads) - 1)]
            assert row[0].get("scope") == "row"


def test_what_is_wider_than_a_phone_says_so(tree: Any, text: str) -> None:
    """Every region that the style sheet makes wider than its screen has the words that it goes on."""
    regions = [e for e in tree.iter("div") if "scroll" in (e.get("class") or "").split()]
    wider = [e for e in regions if set(e.get("class").split()) & {"wide", "some", "drawn"}]
    assert len(wider) > 5
    assert all("goes on to the right" in e.get("data-more") for e in wider)
    for table in tree.iter("table"):
        columns = len(table.findall("thead/tr/th"))
        (region,) = [e for e in regions if e.find("table") is table]
        named = region.get("class").split()
        assert ("wide" in named, "some" in named) == (columns > 4, columns == 4)
    small = text[text.index("@media (max-width: 40rem)") : text.index("@page")]
    for name in ("wide", "some", "drawn"):
        assert f".{name}::before" in small


def test_it_loads_nothing_and_runs_nothing(tree: Any, text: str) -> None:
    """No script, link, frame or form; no address but inside the page, no picture but in it; a policy that forbids the rest."""
    tags = {e.tag.removeprefix(SVG) for e in tree.iter() if isinstance(e.tag, str)}
    assert not tags & {
        "script",
        "link",
        "iframe",
        "object",
        "embed",
        "form",
        "input",
        "image",
        "use",
        "foreignObject",
        "base",
    }
    for element in tree.iter():
        for name, value in element.attrib.items():
            assert not str(name).lower().startswith("on")
            if name in ("href", "src"):
                assert value.startswith("#") or (
                    name == "src" and value.startswith("data:image/jpeg;base64,")
                )
    assert "url(" not in text
    assert "@import" not in text
    assert "default-src 'none'" in text


def test_names_within_the_page_are_its_own_and_are_found(tree: Any) -> None:
    """Every id once; every link inside leads somewhere."""
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert {a.get("href")[1:] for a in tree.iter("a")} <= set(ids)


def test_drawings_are_xml_of_their_own(made: Any) -> None:
    """An SVG reader other than a browser takes them too."""
    for figure in made.figures().values():
        assert ElementTree.fromstring(figure.svg).tag == f"{SVG}svg"


def chromium(*words: str) -> None:
    """The browser, without a window."""
    browser = (
        shutil.which("chromium")
        or shutil.which("chromium-browser")
        or shutil.which("google-chrome")
    )
    if browser is None:
        pytest.skip("no Chromium here to print with")
    flags = ["--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
    subprocess.run([browser, *flags, *words], check=True, capture_output=True, timeout=90)


def test_a_browser_prints_all_of_it(made: Any, tmp_path: Path) -> None:
    """Headings and seal code on paper; nothing is cut at the right edge of Letter."""
    pdfplain = pytest.importorskip("pypdf")
    page = tmp_path / "d.html"
    page.write_text(made.html)
    chromium("--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'd.pdf'}", page.as_uri())
    reader = pdfplain.PdfReader(tmp_path / "d.pdf")
    told = squeezed("".join(p.extract_text() for p in reader.pages))
    for section in made.document.sections:
        assert squeezed(section.title) in told
    for table in (made.table("Totals"), made.table("Seams")):
        for row in table.rows:
            assert squeezed(row[0]) in told


def squeezed(text: str) -> str:
    """Without white space; ligatures as letters."""
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", text))
