"""Which things of different jobs are one: machines, sheets, instruments, people.

Invariant: the same name within one book goes on from job to job unless somebody says
otherwise; a name that came from another book is another thing until somebody says that
it is the same. The last statement about two things counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet

from msgspec import Struct

Key = tuple[str, str]  # a job's id, and the name under which two spellings are one


class NamedThing(Struct, frozen=True):
    """A thing as one job names it; `home` is its book: names carry on within one."""

    key: Key
    home: str


class SaidSame(Struct, frozen=True):
    """Somebody said that two things are one, or that they are not."""

    one: Key
    other: Key
    same: bool


class Meant(Struct, frozen=True):
    """Which thing of a knowledge file a name of this book means.

    Attributes:
        key: its key in the file; "" where the name leads to none.
        shared: of how many things it is the name, where it leads to none for that reason; else 0.
        by_name: only the name tells.
    """

    key: str
    shared: int = 0
    by_name: bool = False


def meant(known_as: AbstractSet[str], others: AbstractSet[str], named: AbstractSet[str]) -> Meant:
    """Which thing of a knowledge file a name means.

    Jobs that both know come first: what this book holds to be this thing, the file knows by its
    keys. The name alone leads to a thing only where no other has it, there or here.

    Args:
        known_as: keys under which the file has this thing, by jobs that both know.
        others: keys under which it has other things of this book, by jobs that both know.
        named: keys of all things of that name in the file.

    Returns:
        the key, or that there is none.
    """
    if len(known_as) == 1:
        return Meant(min(known_as))
    if known_as or not named:
        return Meant("", len(known_as))
    if len(named) == 1 and not named & others:
        return Meant(min(named), by_name=True)
    return Meant("", len(named) + (named <= others))


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


def _join(group: dict[Key, int], apart: list[tuple[Key, Key]], first: Key, second: Key) -> None:
    """Join two groups, unless somebody said that two of their members are different things."""
    if first not in group or second not in group:
        return
    both = {group[first], group[second]}
    if any(a in group and b in group and {group[a], group[b]} == both for a, b in apart):
        return
    number = min(both)
    for key, n in group.items():
        if n in both:
            group[key] = number
