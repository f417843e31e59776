"""Pages of the PDF as pictures: none is nearly blank but a chapter's last."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import typst
from PIL import Image

from tests.dossier import roofs
from tests.dossier.conftest import MONDAY, Made, run
from weldcal.reports.dossier import pdf
from weldcal.reports.dossier.document import as_json, cleaned

# Letter and A4, and the template's margins, mm.
HIGH = {"us-letter": 279.4, "a4": 297.0}
TOP, FOOT = 16.0, 18.0


def filled(made: Any, paper: str) -> list[float]:
    """How far down each page its lowest ink stands, as a share of the room between the margins."""
    inputs = {"data": as_json(cleaned(made.document)), "paper": paper}
    pages = typst.compile(pdf._template("page.typ"), sys_inputs=inputs, format="png", ppi=36)
    found = []
    for page in pages if isinstance(pages, list) else [pages]:
        grey = np.asarray(Image.open(io.BytesIO(page)).convert("L"))
        top, foot = (round(len(grey) * mm / HIGH[paper]) for mm in (TOP, HIGH[paper] - FOOT))
        inked = np.flatnonzero((grey[top:foot] < 215).any(axis=1))
        found.append((inked[-1] + 1) / (foot - top) if len(inked) else 0.0)
    return found


def seams_only(path: Path) -> None:
    """A hundred seams that have no place, with findings on some."""
    run(path, MONDAY, roofs.JOB)
    run(path, MONDAY, "seam add B1-B100 --length 33ft")
    roofs.work(path, 60)


def laid(path: Path, area: str, findings: int) -> None:
    """A roof laid out and worked on."""
    roofs.lay(path, area)
    roofs.work(path, findings)


ROOFS: dict[str, Any] = {
    "seams only": seams_only,
    "small": lambda path: laid(path, roofs.SMALL, 40),
    "tall": lambda path: laid(path, roofs.TALL, 12),
    "large": lambda path: laid(path, roofs.LARGE, 400),
}


@pytest.mark.parametrize("roof", ROOFS)
@pytest.mark.parametrize("paper", HIGH)
def test_no_page_is_under_a_third_full(book_path: Path, roof: str, paper: str) -> None:
    """But the file's last; page 1, which ends a chapter, is fuller than that as well."""
    if (roof, paper) == ("large", "a4"):
        pytest.skip("a hundred pages; once is enough")
    ROOFS[roof](book_path)
    pages = filled(Made(book_path), paper)
    assert len(pages) > 6
    blank = {n: round(share, 2) for n, share in enumerate(pages[:-1], 1) if share < 1 / 3}
    assert blank == {}


def test_short_histories_share_pages(book_path: Path) -> None:
    """Seams with two lines to tell stand some to a page: fewer pages than histories."""
    laid(book_path, roofs.SMALL, 40)
    made = Made(book_path)
    told = next(s for s in made.document.sections if s.title == "Seams with something to tell")
    assert len(told.sections) > 12
    assert not any(part.new_page for part in told.sections)
    assert len(filled(made, "us-letter")) < 9 + len(told.sections)


def test_a_page_that_is_nearly_blank_is_seen(made: Any) -> None:
    """The ruler itself: a document of one line fills a small part of its page."""
    from msgspec import structs

    short = structs.replace(made.document, lead=(), sections=())
    (share,) = filled(type("Short", (), {"document": short}), "us-letter")
    assert 0.02 < share < 0.2
