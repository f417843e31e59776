"""Photos at their finding in the pages, full size beside by hash; never those of a taken-back entry."""

from __future__ import annotations

import base64
import hashlib
import io
from pathlib import Path
from typing import Any

import html5lib
import pypdf
import pytest
from PIL import Image

SET = "--nozzle 932 --speed 5.5"


def picture(path: Path, colour: tuple[int, int, int], kind: str = "JPEG") -> str:
    """A picture of one colour, with a word of a person's in its notes; returns its SHA-256."""
    made = Image.new("RGB", (1600, 1200), colour)
    notes = Image.Exif()
    notes[0x013B] = "Ana Ruiz of this phone"
    made.save(path, kind, exif=notes)
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.fixture
def taken(go_ahead: Any, tmp_path: Path) -> tuple[Any, dict[str, str]]:
    """A finding and its mend with a photo each; a second finding with a photo, taken back."""
    names = {
        "found": picture(tmp_path / "a.jpg", (180, 30, 30)),
        "mended": picture(tmp_path / "b.png", (30, 150, 30), "PNG"),
        "gone": picture(tmp_path / "c.jpg", (30, 30, 180)),
    }
    go_ahead.day(f"""
        07:30 seam start A1 {SET}
        07:37 seam finish A1 --to 33
        09:30 finding A1 wrinkle 3-4 --photo {tmp_path}/a.jpg --by BO
        09:40 mend F1 --method patch --photo {tmp_path}/b.png --by AR
        09:50 finding A1 wrinkle 8-9 --photo {tmp_path}/c.jpg --by BO
        09:55 undo F2 --why "another roof" --yes --by BO
    """)
    return go_ahead, names


def made(book: Any, base: Path, *words: str) -> Any:
    """The HTML file, parsed."""
    book.ok("dossier", str(base), *words)
    return html5lib.parse(base.with_suffix(".html").read_text("utf-8"), namespaceHTMLElements=False)


def test_photos_stand_at_their_finding_small_and_full_size_beside(
    taken: Any, tmp_path: Path
) -> None:
    """In the seam's history, the finding's before its mend's; each leads to the file of its hash."""
    book, names = taken
    tree = made(book, tmp_path / "roof 1")
    (history,) = [s for s in tree.iter("section") if (s.get("id") or "").startswith("history-")]
    links = [a.get("href") for a in history.iter("a") if a.find("img") is not None]
    assert links == [
        f"roof%201-photos/{names['found']}.jpg",
        f"roof%201-photos/{names['mended']}.png",
    ]
    told = [img.get("alt") for img in history.iter("img")]
    assert told[0].startswith("F1, photo 1: wrinkle, 3–4 ft, ")
    assert told[1].startswith("M1, photo 1: mend, 2 ft 6 in to 4 ft 6 in, ")
    beside = {p.name: p.read_bytes() for p in (tmp_path / "roof 1-photos").iterdir()}
    assert sorted(beside) == sorted([f"{names['found']}.jpg", f"{names['mended']}.png"])
    assert all(hashlib.sha256(d).hexdigest() == n.split(".")[0] for n, d in beside.items())


def test_a_small_picture_shows_what_the_photo_shows_and_nothing_written_in_it(
    taken: Any, tmp_path: Path
) -> None:
    """Its colour and proportions; no notes of the phone's."""
    book, _names = taken
    image = next(made(book, tmp_path / "d").iter("img"))
    data = base64.b64decode(image.get("src").partition(",")[2])
    small = Image.open(io.BytesIO(data))
    assert small.size == (360, 270)
    assert max(abs(a - b) for a, b in zip(small.getpixel((99, 99)), (180, 30, 30), strict=True)) < 9
    assert b"Ana Ruiz" not in data
    assert len(data) < 20_000


def test_the_pdf_has_the_same_pictures(taken: Any, tmp_path: Path) -> None:
    """Two images, and their words."""
    book, names = taken
    book.ok("dossier", str(tmp_path / "d"), "--only", "pdf")
    reader = pypdf.PdfReader(tmp_path / "d.pdf")
    assert sum(len(page.images) for page in reader.pages) == 2
    told = "".join("".join(page.extract_text().split()) for page in reader.pages)
    assert names["found"] in told
    assert names["gone"] not in told


def test_nothing_of_a_taken_back_entry_is_left(taken: Any, tmp_path: Path) -> None:
    """Not even the full size that an earlier making put beside."""
    book, names = taken
    made(book, tmp_path / "d")
    book.day('10:00 undo M1 --why "wrong seam" --yes --by AR')
    page = (made(book, tmp_path / "d"), (tmp_path / "d.html").read_text("utf-8"))[1]
    assert names["found"] in page
    assert names["mended"] not in page
    assert [p.name for p in (tmp_path / "d-photos").iterdir()] == [f"{names['found']}.jpg"]


@pytest.mark.parametrize("words", ["--no-photos", "--no-people"])
def test_photos_are_left_out_on_request(taken: Any, tmp_path: Path, words: str) -> None:
    """Neither in the page nor beside it; the page says so. Without people too: a photo may show one."""
    book, _names = taken
    tree = made(book, tmp_path / "d", words, "--only", "html")
    assert not list(tree.iter("img"))
    assert not (tmp_path / "d-photos").exists()
    assert "Photos were left out on request." in "".join(tree.itertext())


def test_a_photo_that_cannot_be_made_small_or_was_changed_is_said(
    taken: Any, tmp_path: Path
) -> None:
    """A broken JPEG has its full size only; one changed beside the book is not shown."""
    book, names = taken
    (tmp_path / "e.jpg").write_bytes(b"\xff\xd8\xff broken")
    book.day(f"10:00 finding A1 void 12-13 --photo {tmp_path}/e.jpg --by BO")
    (book.book.with_name(f"{book.book.name}.photos") / names["mended"]).write_bytes(b"other")
    tree = made(book, tmp_path / "d", "--only", "html")
    told = " ".join("".join(tree.itertext()).split())
    assert "full size only; SHA-256" in told
    assert (
        "M1, photo 1: mend, 2 ft 6 in to 4 ft 6 in, 2026-06-01 09:40; the photo is not beside the book"
        in told
    )
    assert len(list(tree.iter("img"))) == 1


def test_a_strips_photos_stand_on_its_day_and_go_with_it(go_ahead: Any, tmp_path: Path) -> None:
    """In HTML and PDF; left out on request; gone when the strip is taken back."""
    kept, gone = (
        picture(tmp_path / f"{n}.jpg", colour)
        for n, colour in (("k", (200, 200, 0)), ("g", (0, 0, 9)))
    )
    strip = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4 --bubbling none"
    go_ahead.day(f"""
        07:40 {strip} --photo {tmp_path}/k.jpg
        07:50 {strip} --photo {tmp_path}/g.jpg
        07:55 undo S3 --why "another roof" --yes --by AR
    """)
    tree = made(go_ahead, tmp_path / "d")
    (image,) = tree.iter("img")
    assert image.get("alt") == "S2, photo 1: test strip, 2026-06-01 07:40"
    day = next(s for s in tree.iter("section") if any(one is image for one in s.iter("img")))
    assert any("Day by day" in (h.text or "") for h in day.iter("h2"))
    (page,) = (p for p in pypdf.PdfReader(tmp_path / "d.pdf").pages if p.images)
    said = "".join(page.extract_text().split())
    assert kept in said
    assert gone not in said
    assert [p.name for p in (tmp_path / "d-photos").iterdir()] == [f"{kept}.jpg"]
    assert not list(made(go_ahead, tmp_path / "d", "--no-photos").iter("img"))
