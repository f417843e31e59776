"""Answers worked out once, and again after anything was written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from weldcal.book.job_reader import JobReader

T = TypeVar("T")


class JobCache(Generic[T]):
    """Answers of one job, by key, valid until somebody writes to the book."""

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader
        self._as_of: tuple[object, ...] = ()
        self._answers: dict[object, T] = {}

    def get(self, key: object, make: Callable[[], T]) -> T:
        """The answer kept under a key; made where there is none, or the book changed.

        Args:
            key: what was asked.
            make: works the answer out.
        """
        as_of = (*self._reader.unchanged(), self._reader.job_name)
        if as_of != self._as_of:
            self._as_of, self._answers = as_of, {}
        if key not in self._answers:
            self._answers[key] = make()
        return self._answers[key]
