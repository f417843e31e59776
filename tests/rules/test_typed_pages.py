"""Rows and pages are structs: a field that nobody fills is found by mypy, not by a reader."""

from __future__ import annotations

import ast
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "weldcal"

# Rooms whose values all have a name -> where `Any` is meant: (file, what it stands for).
NAMED = {
    "reports": set[tuple[str, str]](),
    "views": {("note.py", "Values")},  # by code: tests/test_docs.py holds codes to sentences
    "row_types": set[tuple[str, str]](),
    "rules": set[tuple[str, str]](),
    "tables": set[tuple[str, str]](),
    "book": set[tuple[str, str]](),
}

# Pages, a field of the struct each takes, and that field misspelt; pages that import no numpy,
# which mypy takes seconds to read.
MISSPELT = {
    "../book/stock.py": ('row["lot"]', 'row["lott"]'),
    "../book/sunlit.py": ('row["question"]', 'row["qestion"]'),
    "../book/upkeep.py": ('step["of"]', 'step["off"]'),
    "../tables/work_rows.py": ('seen["flags"]', 'seen["flag"]'),
    "record_text.py": ('row["smoke"]', 'row["smoek"]'),
    "trace.py": ("trace.disagreements", "trace.disagreement"),
    "upkeep.py": ("lot.laps", "lot.lapps"),
    "seal.py": ('sealed["entries_since"]', 'sealed["entries_sinse"]'),
    "linear.py": ('seam["hidden"]', 'seam["hiden"]'),
    "measured.py": ("drifted.drift", "drifted.drifts"),
}


@pytest.mark.parametrize("room", NAMED)
def test_a_room_of_rows_and_pages_knows_no_any(room: str) -> None:
    found = {one for path in (PACKAGE / room).rglob("*.py") for one in _any_in(path)}
    assert found == NAMED[room]


def _any_in(path: Path) -> Iterator[tuple[str, str]]:
    """Where a module says `Any`: the file, and what is assigned, or the line."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ImportFrom):
            continue
        for part in ast.walk(node):
            if isinstance(part, ast.Name) and part.id == "Any":
                target = node.targets[0] if isinstance(node, ast.Assign) else None
                said = target.id if isinstance(target, ast.Name) else f"line {part.lineno}"
                yield path.name, said


def test_a_misspelt_field_of_a_page_fails_mypy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each page as it is passes; with one field misspelt, mypy names just that line."""
    from mypy import api

    monkeypatch.chdir(ROOT)
    asked, wanted = list[str](), set[tuple[str, int]]()
    for name, (right, wrong) in MISSPELT.items():
        page = Path(os.path.normpath(Path("weldcal") / "reports" / name))
        lines = page.read_text(encoding="utf-8").splitlines(keepends=True)
        at = next(n for n, line in enumerate(lines) if right in line)
        lines[at] = lines[at].replace(right, wrong, 1)
        shadow = tmp_path / f"{len(wanted)}.py"
        shadow.write_text("".join(lines), encoding="utf-8")
        asked += ["--shadow-file", str(page), str(shadow)]
        wanted.add((str(page), at + 1))
    pages = sorted({page for page, _line in wanted})
    said, trouble, code = api.run(
        [*("--strict", "--no-error-summary", "--cache-dir", os.devnull), *asked, *pages]
    )
    told = {(file, int(line)) for file, line in re.findall(r"^(.+?):(\d+): error:", said, re.M)}
    assert (told, trouble, code) == (wanted, "", 1)
