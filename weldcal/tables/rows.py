"""The row of each kind of record.

Invariant: what several kinds share is made in `columns`; a kind that is in no module's
`ROWS` makes no row.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module

from weldcal.tables.columns import Maker

# What is recorded all day first: most recordings need no other.
_MODULES = ("work_rows", "site_rows", "listed_rows", "record_rows")


@cache
def maker(kind: str) -> Maker | None:
    """What makes the rows of a kind of record; None where it has none.

    Args:
        kind: of its entry.
    """
    for module in _MODULES:
        rows: dict[str, Maker] = import_module(f"weldcal.tables.{module}").ROWS
        if kind in rows:
            return rows[kind]
    return None
