"""Long work: it reports its progress, and a file it makes is there whole or not at all.

Invariant: a file under its own name is a finished one, on disk, whatever
interrupts the making. A progress callback may stop the work by raising.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from itertools import islice
from pathlib import Path
from typing import BinaryIO, TypeVar

T = TypeVar("T")

# Called with what is being done, how much of it is done, of how much (0: not known).
Progress = Callable[[str, int, int], None]
_EVERY = 500


def no_progress(_what: str, _done: int, _total: int) -> None:
    """Nobody is watching."""


def with_progress(items: Iterable[T], what: str, total: int, on_progress: Progress) -> Iterator[T]:
    """The items one after another, reporting progress at the first and now and then after it."""
    left, done = iter(items), 0
    for item in left:
        on_progress(what, done, total)
        yield item
        yield from islice(left, _EVERY - 1)
        done += _EVERY


@contextmanager
def atomic_write(path: Path, *, fresh: bool = False) -> Iterator[BinaryIO]:
    """A file, its owner's only, that takes its name when all of it is on disk.

    Args:
        fresh: nothing may bear the name before.

    Raises:
        FileExistsError: something bears it, and `fresh` was asked.
        OSError: it cannot be written.
    """
    if fresh and path.exists():
        raise FileExistsError(path)
    part = part_of(path)
    try:
        made = os.open(part, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        with os.fdopen(made, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


@contextmanager
def atomic_writes() -> Iterator[Callable[[Path], BinaryIO]]:
    """Opens files that take their names together, when all of them are on disk."""
    with ExitStack() as files:
        yield lambda path: files.enter_context(atomic_write(path))


def part_of(path: Path) -> Path:
    """Where a file is made before it takes its name: beside it, so that taking it is one step."""
    return path.with_name(f"{path.name}.{os.getpid()}.part")
