"""Helpers of these tests lie beside them; make them importable from wherever pytest runs."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest


@pytest.fixture
def device(job: Any, tmp_path: Path) -> Callable[[str], Any]:
    """Another device: the program on a book of its own, `device("inspector")`, empty at first."""
    return lambda name: replace(job, book=tmp_path / f"{name}.sqlite")


@pytest.fixture
def carry(tmp_path: Path) -> Callable[..., Any]:
    """Carry all (or what is new since a pack) from one device to another: the result of the merge."""
    number = iter(range(10_000))

    def carried(one: Any, other: Any) -> Any:
        file = tmp_path / f"carry-{next(number)}.weldpack"
        one.ok("pack", str(file))
        return other("merge", str(file))

    return carried


@pytest.fixture
def pair(job: Any, device: Callable[[str], Any], carry: Callable[..., Any]) -> tuple[Any, Any]:
    """Two laptops on one job: the operator's and, after a first pack, the inspector's."""
    other = device("inspector")
    assert carry(job, other).code == 0
    other.ok('me "Ben Okoro"')
    return job, other
