"""Helpers of these tests lie beside them; make them importable from wherever pytest runs."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.tables import whole


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


@pytest.fixture
def refused(job: Any) -> Callable[[Path], str]:
    """Expect a refusal that changes nothing; the reason."""

    def refuse(file: Path) -> str:
        before = whole(job.book)
        done = job("merge", str(file))
        assert done.code == 2, done
        assert len(done.err.splitlines()) == 1
        assert "inside" not in done.err
        assert "Traceback" not in done.err
        assert whole(job.book) == before
        return str(done.err)

    return refuse


@pytest.fixture
def good(go_ahead: Any, tmp_path: Path) -> Path:
    """A true pack of a few entries and a photo, from the same job."""
    photo = tmp_path / "lap.png"
    photo.write_bytes(forge.PHOTO)
    go_ahead.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(photo))
    go_ahead.ok("pack", str(tmp_path / "good"))
    return tmp_path / "good"


@pytest.fixture
def empty(good: Path, weldcal: Any, tmp_path: Path) -> Any:
    """A device that has nothing yet: no book, and none may be made by a bad pack."""
    weldcal.book = tmp_path / "empty" / "book.sqlite"
    return weldcal
