"""Seals: what the record was at a moment, made to be handed to somebody outside the crew.

Invariant: a seal names by its hash every entry that no other follows, so whatever
came before is fixed by it; its code is computed from that and from all that
stands on its paper.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.records.common import Seen


class Head(Struct, frozen=True, kw_only=True):
    """An entry that no other follows: the last of its device, of a branch, or before a gap."""

    device: str
    seq: int
    hash: str


class Seal(Struct, frozen=True, kw_only=True):
    """A seal over everything recorded before it.

    Attributes:
        name: short name, L1.
        label: the day or job it closes, in words.
        entries: how many entries the heads stand for.
        counts: kind of record -> how many of this job.
        code: what a person reads aloud and types in.
        key, signature: Ed25519 public key and signature of the statement, hex.
    """

    name: str
    label: str
    seen: Seen
    entries: int
    heads: tuple[Head, ...]
    counts: dict[str, int]
    code: str = ""
    key: str | None = None
    signature: str | None = None


class Handed(Struct, frozen=True, kw_only=True):
    """A seal given to somebody: to whom, how, when."""

    to: str
    how: str
    seen: Seen
