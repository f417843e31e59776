"""Very large roofs: the PDF in files, no row lost, page 1 and every other section whole."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from weldcal.reports.dossier import seams, volumes
from weldcal.reports.dossier.document import Document, Para, Section, Table


def whole(lengths: list[int]) -> Document:
    """A document with a section of tables of so many rows between two short ones."""
    rows = iter((f"N{n}", "x") for n in range(1, sum(lengths) + 1))
    tables = tuple(
        Table(f"Area {k}", ("Seam", "State"), tuple(next(rows) for _ in range(length)))
        for k, length in enumerate(lengths)
    )
    parts = (
        Section("Before", (Para("b"),)),
        Section("Seams", (Para("note"), *tables)),
        Section("After", (Para("a"),)),
    )
    return Document("Roof", "made", "en", "2026-06-01T07:00:00-06:00", (Para("1"),), parts)


@given(st.lists(st.integers(0, 6000), max_size=6))
def test_every_row_stands_once_and_in_order(lengths: list[int]) -> None:
    """In the first file where it is short; else in files of at most so many rows, each named."""
    document = whole(lengths)
    first, beside = volumes.split(document, Path("roof.pdf"))
    assert first.lead == document.lead
    assert [s.title for s in first.sections] == ["Before", "Seams", "After"]
    if sum(lengths) <= volumes.MOST_ROWS:
        assert (first, beside) == (document, [])
        return
    found = []
    for one in beside:
        tables = [b for b in one.document.sections[0].blocks if isinstance(b, Table)]
        rows = [row for table in tables for row in table.rows]
        assert 0 < len(rows) <= volumes.ROWS_AT_ONCE
        found += rows
    assert found == [(f"N{n}", "x") for n in range(1, sum(lengths) + 1)]
    (listed,) = (b for b in first.sections[1].blocks if isinstance(b, Table))
    assert [row[0] for row in listed.rows] == [one.path.name for one in beside]
    assert sum(int(row[2]) for row in listed.rows) == sum(lengths)


def test_the_command_writes_the_files_and_leaves_no_old_one(
    quarry: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the limits set low: 108 seams in three files; fewer later, and one of hers is kept."""
    monkeypatch.setattr(volumes, "MOST_ROWS", 70)
    monkeypatch.setattr(volumes, "ROWS_AT_ONCE", 40)
    monkeypatch.setattr(seams, "_IN_WORDS", 5)
    quarry.ok("seam add C1-C100 --length 33ft --by AR")
    base = tmp_path / "d"
    (tmp_path / "d-part-x.pdf").write_text("hers")
    files = quarry.ok(f"dossier {base} --only pdf --json").json["files"]
    parts = sorted(f for f in files if "-part-" in f)
    assert [Path(p).name for p in parts] == ["d-part-1.pdf", "d-part-2.pdf", "d-part-3.pdf"]
    told = [
        " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(f).pages).split())
        for f in (base.with_suffix(".pdf"), *parts)
    ]
    assert all(Path(part).name in told[0] for part in parts)
    for name, part in zip(("A1", "C33", "C73"), told[1:], strict=True):
        assert f" {name} " in part
        assert "Warranty dossier: Quarry School" in part
    monkeypatch.setattr(volumes, "ROWS_AT_ONCE", 60)
    quarry.ok(f"dossier {base} --only pdf")
    assert sorted(p.name for p in tmp_path.glob("d-part-*")) == [
        "d-part-1.pdf",
        "d-part-2.pdf",
        "d-part-x.pdf",
    ]


def test_seams_of_a_large_roof_stand_by_area(made: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A table an area, seams without one last met together."""
    monkeypatch.setattr(seams, "_IN_WORDS", 3)
    two = [
        replace(s, place=("North" if n < 5 else "South", 0, 0, 1, 1))
        for n, s in enumerate(made.facts.seams)
    ]
    section = seams.section(two, "us", {s.key: "seam-1" for s in two})
    tables = [b for b in section.blocks if isinstance(b, Table)]
    assert [(t.caption, len(t.rows)) for t in tables] == [
        ("Seams of North", 5),
        ("Seams of South", 3),
    ]
