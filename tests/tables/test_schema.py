"""The derived tables may change only with their version."""

from __future__ import annotations

import hashlib

from weldcal.tables.schema import INDEXES, SCHEMA_VERSION, TABLES

# What the present version holds. A change here wants a new SCHEMA_VERSION and a book under fixtures/books.
PINNED = {5: "8557abe94d7d8697a1047a0c6d96792c7c1543c26b33d390752cb123276df263"}


def test_tables_change_only_with_their_version() -> None:
    """A book of one version has one set of tables, or an older program would read past it."""
    shape = {name: {c: t.__name__ for c, t in columns.items()} for name, columns in TABLES.items()}
    found = hashlib.sha256(repr((shape, INDEXES)).encode()).hexdigest()
    assert PINNED[SCHEMA_VERSION] == found
