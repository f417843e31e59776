"""One thing recorded: its envelope, its canonical form and its hash.

Invariant: `hash` is the SHA-256 of `body`, and `body` is the RFC 8785 canonical
JSON of everything else the entry says, the previous entry's hash included.
Changing the canonical form or the algorithm changes every hash: it is part of
the documented contract, and `v` counts its versions.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import rfc8785

FORMAT = 1
GENESIS = "0" * 64
_ENVELOPE = {"v", "id", "device", "seq", "tick", "at", "who", "kind", "job", "about", "payload", "prev"}  # fmt: skip


@dataclass(frozen=True)
class Entry:
    """One entry, as kept.

    Attributes:
        body: canonical JSON of the envelope.
        hash: SHA-256 of `body`, hex.
    """

    body: str
    hash: str

    @cached_property
    def says(self) -> dict[str, Any]:
        """The envelope, parsed."""
        parsed: dict[str, Any] = json.loads(self.body)
        return parsed

    def __getattr__(self, name: str) -> Any:
        if name in _ENVELOPE:
            return self.says[name]
        raise AttributeError(name)


def seal_entry(envelope: dict[str, Any]) -> Entry:
    """Make the entry of an envelope.

    Args:
        envelope: v, id (UUIDv7), device, seq (from 1, per device), tick (Lamport
            clock: greater than of every entry known when it was made), at (entered,
            ISO 8601 with offset), who (entered it), kind, job and about (ids, or
            None), payload, prev (hash of the device's previous entry, or zeros).
    """
    body = rfc8785.dumps(envelope)
    return Entry(body.decode(), digest(body))


def digest(body: bytes) -> str:
    """SHA-256, hex."""
    return hashlib.sha256(body).hexdigest()


def envelope_fault(says: object) -> str | None:
    """Say what is wrong with an envelope's form, or None."""
    if not isinstance(says, dict):
        return "not an object"
    if set(says) != _ENVELOPE:
        return "fields " + ", ".join(sorted(set(says) ^ _ENVELOPE)) + " missing or unknown"
    if says["v"] != FORMAT or says["v"] is True:
        return f"format {says['v']!r}, expected {FORMAT}"
    texts = [says[key] for key in ("id", "device", "at", "who", "kind", "prev")]
    texts += [says[key] for key in ("job", "about") if says[key] is not None]
    if not all(isinstance(text, str) for text in texts):
        return "a text field holds something else"
    for key in ("seq", "tick"):
        if type(says[key]) is not int or not 1 <= says[key] < 2**53:
            return f"{key} {says[key]!r} is not a count"
    if not isinstance(says["payload"], dict):
        return "payload is not an object"
    return None
