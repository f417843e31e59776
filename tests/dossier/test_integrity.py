"""The integrity page: each question counted on a day where its answer is known."""

from __future__ import annotations

from typing import Any

import pytest

from weldcal.book import Book


def told(book: Any) -> dict[str, Any]:
    opened = Book(book.book, by="Ana Ruiz", clock=book.clock)
    try:
        return {one.code: one for one in opened.dossiers.dossier().integrity}
    finally:
        opened.close()


def test_an_ordinary_day_counts_nothing_against_it_but_what_is_lacking(welded_whole: Any) -> None:
    """Three seams welded, probed by another an hour later; no bleed check and no hot work."""
    welded_whole.ok("probe A1 0-33 --by BO")
    found = told(welded_whole)
    lacking = {code: (one.n, one.of) for code, one in found.items() if one.n}
    assert lacking == {"no_permit": (1, 1), "no_bleed": (3, 3)}
    assert found["no_permit"].names == ("2026-06-01",)
    assert found["no_bleed"].names == ("A1", "A2", "A3")


@pytest.mark.parametrize(("by", "who"), [("AR", "welder"), ("BO", "finder"), ("Cy", "other")])
def test_a_failure_taken_back_says_by_whom(welded_whole: Any, by: str, who: str) -> None:
    """A finding undone, and a sample that parted at the lap corrected into a pass."""
    book = welded_whole
    book.ok('probe A1 0-33 --void "14.5+3in x 1/2in" --by BO')
    book.ok("peel A2 25 --parted lap --by BO")
    book.ok(f"undo F1 --by {by} --why mistake --yes")
    book.ok(f"amend P1 parted compound --by {by} --why misread")
    found = told(book)
    assert (found["undone"].names, found["undone"].by) == (("F1",), {who: 1})
    assert (found["amended"].names, found["amended"].by) == (("P1",), {who: 1})


def test_walks_too_fast_too_soon_and_at_two_places_at_once(welded_whole: Any) -> None:
    """And the welder's own."""
    book = welded_whole
    book.ok("probe A1 0-33 --by BO --started 09:58 --at 10:00")
    book.ok("probe A2 0-33 --by BO --started 09:59 --at 10:03")
    book.ok("probe A3 0-33 --by AR --started 10:00 --at 10:00")
    found = told(book)
    assert found["two_places"].names == ("W1 + W2",)
    assert found["self_probed"].names == ("A3",)
    assert found["self_probed"].of == 3
    assert "W3" in found["too_fast"].names


def test_names_that_look_alike_are_told(welded_whole: Any) -> None:
    """A1O beside A10; a name with a sign nobody sees."""
    for name in ("A10", "A1O", "B\u200b1"):
        welded_whole.ok("seam", "add", name, "--length", "33ft")
    assert told(welded_whole)["alike"].names == ("B\u200b1", "A10 / A1O")


def test_the_page_stands_in_the_dossier_with_what_each_number_means(
    welded_whole: Any, tmp_path: Any
) -> None:
    """A question, a number, what it means."""
    welded_whole.ok("dossier", str(tmp_path / "d"), "--only", "html")
    text = (tmp_path / "d.html").read_text(encoding="utf-8")
    assert "How independent the proof is" in text
    assert "3 of 3" in text
    assert "no proof that work is bad" in text
