"""Long work broken off at every stage: what is there afterwards is what was there before."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping.tables import contents, whole
from weldcal import settings
from weldcal.cli import progress

# SQLite's own files beside a book that is open or was.
_SIDES = ("-wal", "-shm")


def standing(book: Path) -> Any:
    """All that a broken-off command must leave as it was: the book's contents, every file beside."""
    files = {
        str(path.relative_to(book.parent)): path.read_bytes()
        for path in sorted(book.parent.rglob("*"))
        if path.is_file()
        and path != book
        and not path.name.endswith(_SIDES)
        # What a check held, in the user's own folder, which lies beside a test's book.
        and settings.state_folder() not in path.parents
    }
    return (whole(book), contents(book) if book.exists() else None, files)


def breaks_off_clean(
    weldcal: Any, words: str, monkeypatch: pytest.MonkeyPatch, *, done: Callable[[], bool]
) -> int:
    """Break a command off at its first beat, at its second ..., until it comes to its end.

    Returns:
        at how many places it was broken off.
    """
    before = standing(weldcal.book)
    for place in range(1, 200):
        left = place

        def on_progress(_what: str, _done: int, _total: int) -> None:
            nonlocal left
            left -= 1
            if left == 0:
                raise KeyboardInterrupt

        monkeypatch.setattr(progress, "no_progress", on_progress)
        came = weldcal(words)
        if came.code == 0:
            assert left > 0
            assert done()
            return place - 1
        assert (came.code, came.out, len(came.err.splitlines())) == (130, "", 1), place
        assert standing(weldcal.book) == before, place
        assert not done(), place
    raise AssertionError("it never came to its end")
