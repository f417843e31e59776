"""What is wrong with a record, as verify finds it and pages show it."""

from __future__ import annotations

from msgspec import Struct


class Fault(Struct, frozen=True):
    """Something wrong with the record: where, what was expected, what was found."""

    entry: str
    what: str
    expected: str
    found: str
