"""How large a photo may be: 25 MB (site setting, no source), before it is read and after."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge

MB = 1024 * 1024


def sized(path: Path, size: int) -> Path:
    """A picture's beginning and then nothing, as long as wanted; it takes no room on the disk."""
    path.write_bytes(forge.PHOTO)
    os.truncate(path, size)
    return path


def test_a_photo_of_25_mb_is_kept_and_one_byte_more_is_refused(job: Any, tmp_path: Path) -> None:
    """The line says what the limit is; nothing is recorded or kept of what was refused."""
    large = sized(tmp_path / "large.png", 25 * MB)
    job.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(large))
    place = job.book.with_name(job.book.name + ".photos")
    (kept,) = place.iterdir()
    assert kept.stat().st_size == 25 * MB
    larger = sized(tmp_path / "larger.png", 25 * MB + 1)
    line = job.refused("finding", "A1", "wrinkle", "5-6", "--photo", str(larger))
    assert "larger than 25 MB" in line
    assert list(place.iterdir()) == [kept]


@pytest.mark.parametrize(
    ("size", "why"), [(25 * MB + 1, "larger than a photo can be"), (25 * MB, "")]
)
def test_a_kept_photo_grown_beside_the_book_is_found(
    job: Any, tmp_path: Path, size: int, why: str
) -> None:
    """One too large is not read at all: it is said so, and no hash of it."""
    photo = sized(tmp_path / "lap.png", 2000)
    job.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(photo))
    (kept,) = job.book.with_name(job.book.name + ".photos").iterdir()
    os.truncate(kept, size)
    found = job("verify", "--json")
    assert found.code == 1
    (fault,) = found.json["faults"]
    assert kept.name[:12] in str(fault)
    assert ("larger than a photo can be" in str(fault)) is bool(why)
