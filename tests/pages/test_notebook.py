"""The page for Python users runs as it stands, block after block, on the demo's book."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

from weldcal.cli.main import main

PAGE = Path(__file__).parents[2] / "docs" / "notebook.md"


def test_the_notebook_page_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every block prints something that can be: widths in order, a chance, a distance."""
    monkeypatch.chdir(tmp_path)
    said = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["demo", "--quiet"]) == 0
    blocks = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.S)
    assert len(blocks) == 3
    names: dict[str, object] = {}
    with contextlib.redirect_stdout(said):
        for block in blocks:
            exec(block, names)
    shown = said.getvalue()
    assert "bleed_out_mm" in shown
    middle, low, high, good = map(
        float, re.search(r"([\d.]+) mm \(([\d.]+) to ([\d.]+)\), good (\d+)%", shown).groups()
    )
    assert 0 < low < middle < high
    assert 0 <= good <= 100
    assert 0 <= float(re.search(r"off by ([\d.]+) mm", shown)[1]) < 10
