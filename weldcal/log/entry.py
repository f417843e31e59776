"""One thing recorded: its envelope, its canonical form and its hash.

Invariant: `hash` is the SHA-256 of `body`, and `body` is the RFC 8785 canonical
JSON of everything else the entry says, the previous entry's hash included.
Changing the canonical form or the algorithm changes every hash: it is part of
the documented contract, and `v` counts its versions.
"""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any

import msgspec
import rfc8785

from weldcal.records.times import check_time

FORMAT = 1
GENESIS = "0" * 64
MOST = 2**53 - 1
DEEPEST = 32
_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)
_DEVICE = re.compile(r"[0-9a-f]{12}", re.ASCII)


class Envelope(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What an entry says.

    Attributes:
        v: version of this form.
        id: UUIDv7.
        device: the device it was made on; seq: its place there, from 1.
        tick: Lamport clock, greater than of every entry known when it was made.
        at: when it was entered, ISO 8601 with UTC offset.
        who: who entered it.
        kind: what its payload is a record of.
        job, about: ids of the job and the subject; `about` is its own id where it begins one.
        prev: hash of the device's previous entry, or zeros.
    """

    v: int
    id: str
    device: str
    seq: int
    tick: int
    at: str
    who: str
    kind: str
    job: str | None
    about: str
    payload: dict[str, Any]
    prev: str


_decoder = msgspec.json.Decoder(Envelope)


class Entry:
    """One entry, as kept: `body` is its canonical JSON, `hash` its SHA-256, `says` its envelope."""

    __slots__ = ("body", "hash", "says")

    def __init__(self, body: str, hash: str, says: Envelope | None = None) -> None:
        self.body = body
        self.hash = hash
        self.says = says or _read(body)

    def __getattr__(self, name: str) -> Any:
        if name == "says":
            raise AttributeError(name)
        return getattr(self.says, name)


def _read(body: str) -> Envelope:
    try:
        return _decoder.decode(body)
    except (msgspec.MsgspecError, RecursionError, UnicodeError, TypeError) as error:
        raise ValueError(f"not an entry: {error}") from None


def seal_entry(says: Envelope) -> Entry:
    """Make the entry of an envelope."""
    body = rfc8785.dumps({name: getattr(says, name) for name in says.__struct_fields__})
    return Entry(body.decode(), digest(body), says)


def digest(body: bytes) -> str:
    """SHA-256, hex."""
    return hashlib.sha256(body).hexdigest()


def read_entry(body: object, kept_hash: object) -> Entry:
    """An entry from elsewhere, checked in all that can be checked of it alone.

    Raises:
        ValueError: says what was expected and what was found.
    """
    if not isinstance(body, str) or not isinstance(kept_hash, str):
        raise ValueError("not text")
    found = digest(body.encode(errors="replace"))
    if found != kept_hash:
        raise ValueError(f"hash {found[:12]}…, expected {kept_hash[:12]}…")
    says = _read(body)
    if _too_deep(says.payload):
        raise ValueError(f"nested deeper than {DEEPEST}")
    if says.v != FORMAT:
        raise ValueError(f"format {says.v}, expected {FORMAT}")
    ids = [says.id, says.about, *([says.job] if says.job is not None else [])]
    if not all(map(_ID.fullmatch, ids)) or not _DEVICE.fullmatch(says.device):
        raise ValueError("an id that is none")
    if not (1 <= says.seq <= MOST and 1 <= says.tick <= MOST):
        raise ValueError("a count that cannot be")
    check_time(says.at)
    if not _canonical(body):
        raise ValueError("not in canonical form")
    return Entry(body, kept_hash, says)


def _too_deep(payload: object) -> bool:
    """Whether a payload nests deeper than any of ours; walked without recursion."""
    level: list[object] = [payload]
    for _depth in range(DEEPEST):
        inner: list[object] = []
        for part in level:
            if isinstance(part, dict):
                inner += part.values()
            elif isinstance(part, list):
                inner += part
        if not inner:
            return False
        level = inner
    return True


def _canonical(body: str) -> bool:
    """Whether a body is its own canonical form, by the quick route first.

    For payloads of text, whole numbers and booleans the standard library's sorted,
    compact JSON is RFC 8785's, but for the order of keys beyond the basic plane.
    """
    try:
        says = json.loads(body, parse_float=_no_floats, parse_constant=_no_floats, parse_int=_whole)
        if json.dumps(says, sort_keys=True, separators=(",", ":"), ensure_ascii=False) == body:
            return True
        return bool(rfc8785.dumps(says).decode() == body)
    except (ValueError, RecursionError):
        return False


def _no_floats(text: str) -> Any:
    raise ValueError(f"a float: {text}")


def _whole(text: str) -> int:
    """A whole number that every reader of JSON holds exactly (RFC 7493 §2.2)."""
    number = int(text) if len(text) <= 17 else MOST + 1
    if abs(number) > MOST:
        raise ValueError(f"a number too large: {text[:20]}")
    return number
