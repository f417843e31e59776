"""One thing recorded: its envelope, its canonical form and its hash.

Invariant: `hash` is the SHA-256 of `body`, and `body` is the RFC 8785 canonical
JSON of everything else the entry says, the previous entry's hash included.
Changing the canonical form or the algorithm changes every hash: it is part of
the documented contract, and `v` counts its versions.
"""

# Not postponed: msgspec takes the annotations as types, and reading them from text takes time.
import hashlib
from operator import attrgetter
from typing import Any

import msgspec

from weldcal.json_values import Payload

FORMAT = 1
GENESIS = "0" * 64
MOST = 2**53 - 1
DEEPEST = 32


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
canonical = msgspec.json.Encoder(order="sorted").encode


class Entry:
    """One entry, as kept: `body` is its canonical JSON, `hash` its SHA-256, `says` its envelope.

    One that was read unopened (`unopened`) opens when its payload is first asked for.
    """

    __slots__ = ("body", "hash", "says")

    def __init__(self, body: str, hash: str, says: Envelope | Unopened | None = None) -> None:
        self.body = body
        self.hash = hash
        self.says: Envelope | Unopened = says or opened(body)

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
            self.says = says = opened(self.body)
        return says.payload


def opened(body: str) -> Envelope:
    """What an entry says.

    Raises:
        ValueError: it is none.
    """
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
    body = canonical(says)
    if not _quick(says.payload, body):
        import rfc8785  # hardly an entry needs it

        body = rfc8785.dumps({name: getattr(says, name) for name in says.__struct_fields__})
    return Entry(body.decode(), digest(body), says)


def _quick(payload: Payload, data: bytes) -> bool:
    """Whether sorted compact JSON is RFC 8785's: texts within the basic plane, no floats."""
    try:
        check_plain(payload)
    except ValueError:
        return False
    return within_plane(data)


def digest(body: bytes) -> str:
    """SHA-256, hex."""
    return hashlib.sha256(body).hexdigest()


def check_plain(payload: Payload) -> None:
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


def within_plane(data: bytes) -> bool:
    """Whether UTF-8 text has no sign beyond U+FFFF (none of its bytes is 0xF0 or above)."""
    return data.isascii() or max(data) < 0xF0
