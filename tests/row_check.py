"""Holds every query of the tests to the struct that it names: its columns, its types, its blanks."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from typing import Any, get_args, get_type_hints

from weldcal.book.job_reader import JobReader

Select = Callable[[JobReader, type[Any], str, Iterable[object]], list[Any]]


@cache
def _allowed(row: type[Any]) -> dict[str, tuple[type, ...]]:
    """The types that each column of a struct may hold; a whole number is a float too."""
    kinds = {name: get_args(hint) or (hint,) for name, hint in get_type_hints(row).items()}
    return {name: (*kind, int) if float in kind else kind for name, kind in kinds.items()}


def check(row: type[Any], found: list[Any], sql: str) -> None:
    """Fail where a row has other columns than its struct, or a value of another type."""
    allowed = _allowed(row)
    for one in found:
        assert one.keys() == allowed.keys(), f"{row.__name__} has other columns than: {sql}"
        for name, value in one.items():
            assert isinstance(value, allowed[name]), f"{row.__name__}.{name} is {value!r}: {sql}"


def watch() -> None:
    """From now on, a query whose rows are not as their struct says fails the test it runs in."""
    plain: Select = JobReader.select

    def select(
        reader: JobReader, row: type[Any], sql: str, values: Iterable[object] = ()
    ) -> list[Any]:
        found = plain(reader, row, sql, values)
        check(row, found, sql)
        return found

    JobReader.select = select  # type: ignore[method-assign, assignment]
