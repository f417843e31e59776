"""Peel samples in the dossier: each with its load and air, the least, a bound where n allows."""

from __future__ import annotations

import re
from typing import Any

import pytest


def page(book: Any, folder: Any) -> str:
    book.ok("dossier", str(folder), "--only", "html")
    text = folder.with_suffix(".html").read_text(encoding="utf-8")
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_samples_stand_with_load_air_and_how_they_parted(welded_whole: Any, tmp_path: Any) -> None:
    """A reading just before one of them; the other has none near."""
    book = welded_whole
    book.ok("peel A1 5 --parted compound --load 40lbf --width 1in --by BO")
    book.clock.set("10:30")
    book.ok("conditions --ambient 61F --sheet-temp 70F")
    book.clock.set("11:00")
    book.ok("peel A1 25 --parted lap --load 12lbf --width 1in --by BO")
    text = page(book, tmp_path / "d")
    assert re.search(r"P1 A1 5 ft 40\S* lbf/in in the compound not read Ben Okoro", text)
    assert re.search(r"P2 A1 25 ft 12\S* lbf/in at the lap 61 °F, 70 °F Ben Okoro", text)
    assert re.search(r"Least load of 2: 12\S* lbf/in", text)


@pytest.mark.parametrize(("count", "said"), [(2, "Too few samples"), (8, "holds more than")])
def test_a_bound_is_told_only_where_it_says_something(
    welded_whole: Any, tmp_path: Any, count: int, said: str
) -> None:
    """Two uneven loads bound nothing; "more than 0.0" is never said, here or by `sample loads`."""
    for n in range(count):
        book = welded_whole.ok(
            f"peel A1 {n + 1} --parted compound --load {20 + 40 * n if count == 2 else 38 + n}lbf --width 1in"
        )
        assert book.code == 0
    told = " ".join(welded_whole.ok("sample loads").out.split())
    for text in (told, page(welded_whole, tmp_path / "d")):
        assert said in text
        assert "more than 0.0" not in text
