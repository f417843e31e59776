"""Which things of different jobs are one: machines, sheets, instruments, people.

Invariant: the same name within one book goes on from job to job unless somebody says
otherwise; a name that came from another book is another thing until somebody says that
it is the same. The last statement about two things counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

Key = tuple[str, str]  # a job's id, and the name under which two spellings are one


class NamedThing(Struct, frozen=True):
    """A thing as one job names it; `home` tells books apart: names go on within one."""

    key: Key
    home: str


class SaidSame(Struct, frozen=True):
    """Somebody said that two things are one, or that they are not."""

    one: Key
    other: Key
    same: bool


def one_thing(things: Sequence[NamedThing], statements: Iterable[SaidSame]) -> dict[Key, int]:
    """Which of the things are one: for each, the number of its group.

    Args:
        things: in the order of their jobs.
        statements: in the order they were made.

    Returns:
        numbers from 0 on, the same for things that are one.
    """
    last: dict[frozenset[Key], SaidSame] = {}
    for statement in statements:
        last.pop(frozenset((statement.one, statement.other)), None)  # said again, it comes last
        last[frozenset((statement.one, statement.other))] = statement
    apart = [(w.one, w.other) for w in last.values() if not w.same]
    group = {thing.key: n for n, thing in enumerate(things)}
    for statement in last.values():
        if statement.same:
            _join(group, apart, statement.one, statement.other)
    newest: dict[tuple[str, str], Key] = {}
    for thing in things:
        before = newest.get((thing.home, thing.key[1]))
        if before is not None:
            _join(group, apart, before, thing.key)
        newest[thing.home, thing.key[1]] = thing.key
    return group


def _join(group: dict[Key, int], apart: list[tuple[Key, Key]], one: Key, other: Key) -> None:
    """Make two groups one, unless two of their members are said to be apart."""
    if one not in group or other not in group:
        return
    both = {group[one], group[other]}
    if any(a in group and b in group and {group[a], group[b]} == both for a, b in apart):
        return
    kept = min(both)
    for key, n in group.items():
        if n in both:
            group[key] = kept
