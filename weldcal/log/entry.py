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
from operator import attrgetter
from typing import Any

import msgspec
import rfc8785

from weldcal.json_values import Payload
from weldcal.records.times import check_time

FORMAT = 1
GENESIS = "0" * 64
MOST = 2**53 - 1
DEEPEST = 32
_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)
_DEVICE = re.compile(r"[0-9a-f]{12}", re.ASCII)
# In compact JSON a number follows one of these; so may some text, which is then looked at itself.
_DOUBTFUL = re.compile(r"[:,\[]-?\d+(?:[.eE]|(?<=\d{16}))", re.ASCII)


class _Says(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What an entry says, but for its payload; `Envelope` tells what each is."""

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
    prev: str


class Envelope(_Says, frozen=True):
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
        payload: its record.
    """

    payload: Payload


class Unopened(_Says, frozen=True):
    """What an entry says, its payload left as JSON."""

    raw: msgspec.Raw = msgspec.field(name="payload")


_decoder = msgspec.json.Decoder(Envelope)
_unopened = msgspec.json.Decoder(Unopened)
_sorted = msgspec.json.Encoder(order="sorted")


class Entry:
    """One entry, as kept: `body` is its canonical JSON, `hash` its SHA-256, `says` its envelope.

    One that was read unopened (`unopened`) opens when its payload is first asked for.
    """

    __slots__ = ("body", "hash", "says")

    def __init__(self, body: str, hash: str, says: Envelope | Unopened | None = None) -> None:
        self.body = body
        self.hash = hash
        self.says: Envelope | Unopened = says or _read(body)

    # What the envelope says, by attrgetter: a book's tables ask it some forty times an entry.
    v = property(attrgetter("says.v"))
    id = property(attrgetter("says.id"))
    device = property(attrgetter("says.device"))
    seq = property(attrgetter("says.seq"))
    tick = property(attrgetter("says.tick"))
    at = property(attrgetter("says.at"))
    who = property(attrgetter("says.who"))
    kind = property(attrgetter("says.kind"))
    job = property(attrgetter("says.job"))
    about = property(attrgetter("says.about"))
    prev = property(attrgetter("says.prev"))

    @property
    def payload(self) -> Payload:
        """The record, as `records.codec` writes it."""
        says = self.says
        if isinstance(says, Unopened):
            self.says = says = _read(self.body)
        return says.payload


def _read(body: str) -> Envelope:
    try:
        return _decoder.decode(body)
    except (msgspec.MsgspecError, RecursionError, UnicodeError, TypeError) as error:
        raise ValueError(f"not an entry: {error}") from None


def unopened(body: str, hash: str) -> Entry:
    """An entry whose payload nobody may ask for: an eighth of the work of reading it.

    Raises:
        ValueError: it is none.
    """
    try:
        return Entry(body, hash, _unopened.decode(body))
    except (msgspec.MsgspecError, RecursionError, UnicodeError, TypeError) as error:
        raise ValueError(f"not an entry: {error}") from None


def seal_entry(says: Envelope) -> Entry:
    """Make the entry of an envelope."""
    body = _sorted.encode(says)
    if not _quick(says.payload, body):
        body = rfc8785.dumps({name: getattr(says, name) for name in says.__struct_fields__})
    return Entry(body.decode(), digest(body), says)


def _quick(payload: Payload, data: bytes) -> bool:
    """Whether sorted compact JSON is RFC 8785's: texts within the basic plane, no floats."""
    try:
        _check_plain(payload)
    except ValueError:
        return False
    return _within_plane(data)


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
    data = body.encode(errors="replace")
    found = digest(data)
    if found != kept_hash:
        raise ValueError(f"hash {found[:12]}…, expected {kept_hash[:12]}…")
    says = _read(body)
    if says.v != FORMAT:
        raise ValueError(f"format {says.v}, expected {FORMAT}")
    ids = {says.id, says.about} if says.job is None else {says.id, says.about, says.job}
    if not all(map(_ID.fullmatch, ids)) or not _DEVICE.fullmatch(says.device):
        raise ValueError("an id that is none")
    if not (1 <= says.seq <= MOST and 1 <= says.tick <= MOST):
        raise ValueError("a count that cannot be")
    check_time(says.at)
    if _DOUBTFUL.search(body) or body.count("{") + body.count("[") > DEEPEST:
        _check_plain(says.payload)
    if not _canonical(says, data):
        raise ValueError("not in canonical form")
    return Entry(body, kept_hash, says)


def _check_plain(payload: Payload) -> None:
    """Refuse floats, whole numbers no reader holds exactly (RFC 7493 §2.2), and deep nesting.

    Walked level by level, without recursion.

    Raises:
        ValueError: says which.
    """
    level: list[Any] = [payload]
    for _depth in range(DEEPEST):
        inner: list[Any] = []
        for part in level:
            for value in part.values() if type(part) is dict else part:
                kind = type(value)
                if kind is dict or kind is list:
                    inner.append(value)
                elif kind is float or (kind is int and abs(value) > MOST):
                    raise ValueError(f"a number that is not held exactly: {value!r:.30}")
        if not inner:
            return
        level = inner
    raise ValueError(f"nested deeper than {DEEPEST}")


def _canonical(says: Envelope, data: bytes) -> bool:
    """Whether a body is its own canonical form, by the quick route first.

    For texts within the basic plane, whole numbers and booleans, sorted compact JSON is
    RFC 8785's; beyond it the order of keys may differ, and the library decides.
    """
    if _sorted.encode(says) == data and _within_plane(data):
        return True
    try:
        return bool(rfc8785.dumps(json.loads(data)) == data)
    except (ValueError, RecursionError):
        return False


def _within_plane(data: bytes) -> bool:
    """Whether UTF-8 text has no sign beyond U+FFFF (none of its bytes is 0xF0 or above)."""
    return data.isascii() or max(data) < 0xF0
