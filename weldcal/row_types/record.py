"""Rows about other rows: seals, warnings, corrections, what was taken back."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict

from weldcal.row_types.columns import SeenColumns


class SealRow(SeenColumns):
    """A seal over the entries so far.

    Attributes:
        label: the day or job it closes, in words.
        entries: how many it stands for.
        heads: [device, sequence, hash] of each device's last entry, a JSON list.
        counts: kind of record -> how many of the job, a JSON object.
        code: what a person reads aloud and types in.
        key, signature: Ed25519, hex; None where it is not signed.
    """

    label: str
    entries: int
    heads: str
    counts: str
    code: str
    key: str | None
    signature: str | None


class HandedRow(TypedDict):
    """That a seal was handed to somebody.

    Attributes:
        of: id of the seal.
        to, how: to whom and how, in words.
    """

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
    """A warning given when something was recorded, and how it was settled.

    Attributes:
        of: id of the run or cover-up it stands with.
        code: which warning.
        done: what was done about it; None while it is open.
    """

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
    """A correction.

    Attributes:
        of: id of the record corrected.
        path: where the value stands in its payload, dotted.
        old, new: the values, JSON.
        replaces: id of the entry that last set the value.
        conflict: 1 where another device had set it meanwhile.
        withdrawn: 1 where the correction was taken back.
    """

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


class SaidColumns(TypedDict):
    """What an entry says, whether or not it was taken back.

    Attributes:
        of: id of the record; the same as `id` where the entry began it.
        kind: of the entry.
        was_in: the table it stands in; None for a later stage or a correction.
        said: its row, or its payload, as a JSON object.
    """

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


class WithdrawnRow(SaidColumns):
    """What was taken back.

    Attributes:
        by: id of the entry that took it back; `withdrawn_by`: who did.
        added_to: 1 where something was recorded about it since.
    """

    why: str
    by: str
    withdrawn_by: str
    withdrawn_utc: str
    withdrawn_local: str
    added_to: int
