"""Benches run by hand, seldom: a name changed elsewhere must not break one unseen."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
BENCHES = sorted((TESTS / "bench").glob("*.py")) + sorted((TESTS / "faults").glob("*.py"))


@pytest.mark.parametrize("path", BENCHES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_bench_finds_what_it_imports(path: Path) -> None:
    """Those of the office need its extra; without it they are left out."""
    try:
        importlib.import_module(f"tests.{path.parent.name}.{path.stem}")
    except ModuleNotFoundError as gone:
        if str(gone.name).split(".")[0] in ("weldcal", "tests"):
            raise
        pytest.skip(f"needs {gone.name}")
