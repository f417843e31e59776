"""Holds every query of the tests to the struct that it names: its columns, its types, its blanks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from typing_extensions import ReadOnly

from weldcal.book.job_reader import JobReader
from weldcal.book.marks import Marking

Query = Callable[[JobReader, type[Any], str, Iterable[object]], list[Any]]


@cache
def _allowed(row: type[Any]) -> dict[str, tuple[type, ...]]:
    """The types that each column of a struct may hold; a whole number is a float too."""
    kinds = {name: _kinds(hint) for name, hint in _hints(row).items()}
    return {name: (*kind, int) if float in kind else kind for name, kind in kinds.items()}


def _hints(row: type[Any]) -> dict[str, Any]:
    """The hints of a struct; `ReadOnly`, which modules import for the checker only, is known."""
    return get_type_hints(row, localns={"ReadOnly": ReadOnly})


def _kinds(hint: Any) -> tuple[type, ...]:
    """What a hint allows, each without what it holds: list[str] is a list."""
    if get_origin(hint) is ReadOnly:
        (hint,) = get_args(hint)
    each = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    return tuple(str if get_origin(one) is Literal else get_origin(one) or one for one in each)


def check(row: type[Any], found: list[Any], sql: str) -> None:
    """Fail where a row has other columns than its struct, or a value of another type."""
    allowed = _allowed(row)
    for one in found:
        assert one.keys() == allowed.keys(), f"{row.__name__} has other columns than: {sql}"
        for name, value in one.items():
            assert isinstance(value, allowed[name]), f"{row.__name__}.{name} is {value!r}: {sql}"


def check_column(kind: type, found: list[Any], sql: str) -> None:
    """Fail where a column holds a value of another type, or an empty one."""
    for value in found:
        assert isinstance(value, (kind, int) if kind is float else kind), f"{value!r}: {sql}"


def watch() -> None:
    """From now on, a query whose rows are not as their struct says fails the test it runs in."""
    JobReader.select = _watched(JobReader.select, check)  # type: ignore[method-assign, assignment]
    each, marked = JobReader.each, Marking.marked

    def one_by_one(
        reader: JobReader, row: type[Any], sql: str, values: Iterable[object] = ()
    ) -> Iterator[Any]:
        for found in each(reader, row, sql, values):
            check(row, [found], sql)
            yield found

    JobReader.each = one_by_one  # type: ignore[method-assign, assignment]

    def watched(marks: Marking, struct: type[Any], rows: Iterable[Any]) -> list[Any]:
        found = marked(marks, struct, rows)
        check(struct, found, "marked")
        return found

    Marking.marked = watched  # type: ignore[method-assign, assignment]
    JobReader.column = _watched(JobReader.column, check_column)  # type: ignore[method-assign, assignment]


def _watched(plain: Query, held: Callable[[type[Any], list[Any], str], None]) -> Query:
    def query(
        reader: JobReader, kind: type[Any], sql: str, values: Iterable[object] = ()
    ) -> list[Any]:
        found = plain(reader, kind, sql, values)
        held(kind, found, sql)
        return found

    return query
