"""Rows about other rows: seals, warnings, corrections, what was taken back."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import SeenColumns


class SealRow(SeenColumns):
    """A seal over the entries so far; heads and counts are JSON."""

    label: str
    entries: int
    heads: str
    counts: str
    code: str
    key: str | None
    signature: str | None


class HandedRow(TypedDict):
    """That a seal was handed to somebody."""

    id: str
    job: str
    of: str
    to: str
    how: str
    seen_by: str
    seen_utc: str
    seen_local: str
    tick: int
    entered_by: str
    late_h: float


class WarningRow(TypedDict):
    """A warning given when something was recorded, and how it was settled."""

    id: str
    job: str
    of: str
    code: str
    done: str | None
    done_by: str | None
    done_utc: str | None
    done_local: str | None
    done_tick: int | None


class AmendmentRow(TypedDict):
    """A correction; `old` and `new` are JSON."""

    id: str
    job: str
    of: str
    path: str
    old: str
    new: str
    why: str
    seen_by: str
    entered_by: str
    late_h: float
    entered_utc: str
    entered_local: str
    replaces: str
    conflict: int
    tick: int
    withdrawn: int


class WithdrawnRow(TypedDict):
    """What was taken back; `said` is what it said, as JSON."""

    id: str
    job: str
    of: str
    kind: str
    was_in: str | None
    name: str | None
    device: str
    tick: int
    seam: str | None
    seam_key: str | None
    seen_utc: str
    seen_local: str
    seen_by: str
    entered_by: str
    said: str
    why: str
    by: str
    withdrawn_by: str
    withdrawn_utc: str
    withdrawn_local: str
    added_to: int
